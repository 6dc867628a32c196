"""JSON as text, with nothing in it that steers what shows it."""

from __future__ import annotations

import json
from typing import Any

__all__ = ["json_text"]


def json_text(document: Any) -> str:
    r"""Give a document as JSON in ASCII; a number without end is an error.

    A build server that shows it obeys ##word[ even inside of a text, so two of these signs are
    never side by side.

    >>> json_text("##[group]")
    '"#\\u0023[group]"\n'
    """
    return json.dumps(document, indent=2, allow_nan=False).replace("##", r"#\u0023") + "\n"
