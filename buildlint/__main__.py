"""Run buildlint as `python -m buildlint`."""

from buildlint.commands.cli import run

run()
