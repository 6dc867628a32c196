"""Run buildlint as `python -m buildlint`."""

from buildlint.cli import run

run()
