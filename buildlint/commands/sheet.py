"""Make a bench sheet: `buildlint sheet`."""

from __future__ import annotations

import os
import shlex
import sys
from argparse import Namespace
from pathlib import Path

from buildlint.commands.outcome import FAILED, Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Make a bench sheet."""
    if chosen.output is None and sys.stdout.isatty():
        from buildlint.files.names import kind_and_id
        from buildlint.text.errors import PathError

        ident = (kind_and_id(Path(chosen.build).name) or ("build", chosen.build))[1]
        more = ["--finished"] if chosen.finished else []
        words = shlex.join(["buildlint", "sheet", chosen.build, *more, "-o", f"{ident}.html"])
        raise PathError(f"name a file for the page: {words}")
    import logging
    import warnings

    from buildlint.reports.sheet.page import sheet_and_mistakes

    # what the libraries that draw have to say of fonts, folders and threads is nothing to a builder
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    warnings.simplefilter("ignore")
    logging.getLogger("matplotlib").setLevel(logging.CRITICAL)
    html, mistakes = sheet_and_mistakes(chosen.build, chosen.on, chosen.finished)
    return Outcome(html, FAILED if mistakes else 0, mistakes)
