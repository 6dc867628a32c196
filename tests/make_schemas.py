"""Make the schemas of the example team.

`python tests/make_schemas.py` says what is out of date, --write writes it.
"""

from __future__ import annotations

import sys
from pathlib import Path

from buildlint.reports.schemas import FILE_KINDS, schema_text

EXAMPLES = Path(__file__).parent.parent / "examples"
SCHEMAS = EXAMPLES / "saltmarsh" / "schemas"


def schema_path(kind: str) -> Path:
    """Where the schema of a kind stands."""
    return SCHEMAS / f"{kind}.schema.json"


def main() -> int:
    """Write the schemas, or say which are out of date."""
    due = {schema_path(kind): schema_text(kind).encode() for kind in FILE_KINDS}
    stale = 0
    for path, data in due.items():
        if path.exists() and path.read_bytes() == data:
            continue
        stale += 1
        sys.stdout.write(f"{path.relative_to(EXAMPLES)}\n")
        if "--write" in sys.argv[1:]:
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)
    return 1 if stale and "--write" not in sys.argv[1:] else 0


if __name__ == "__main__":
    sys.exit(main())
