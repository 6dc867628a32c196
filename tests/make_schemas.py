"""Make the schemas of the example team, and the line by which its files name them.

`python tests/make_schemas.py` says what is out of date, --write writes it.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from buildlint.reports.schemas import FILE_KINDS, schema_text

EXAMPLES = Path(__file__).parent.parent / "examples"
SCHEMAS = EXAMPLES / "saltmarsh" / "schemas"

MARK = b"#:schema "


def schema_path(kind: str) -> Path:
    """Where the schema of a kind stands."""
    return SCHEMAS / f"{kind}.schema.json"


def examples() -> list[Path]:
    """Every TOML file of the examples."""
    return sorted(EXAMPLES.rglob("*.toml"))


def kind_of(path: Path) -> str:
    """The kind of an example; the misnamed one is meant to be a build."""
    if path.name == "buildlint.toml":
        return "settings"
    if "rules" in path.parent.parts and path.is_relative_to(EXAMPLES):
        return "rule"
    kind = path.name.split(".")[-2]
    return "build" if kind == "bulid" else kind


def schema_line(path: Path) -> bytes:
    """The first line of an example, by which an editor finds its schema."""
    way = Path(os.path.relpath(schema_path(kind_of(path)), path.parent)).as_posix()
    way = way if way.startswith("../") else f"./{way}"
    return MARK + way.encode() + b"\n"


def with_line(path: Path) -> bytes:
    """An example as it should stand. As bytes: one of them is not UTF-8."""
    data = path.read_bytes()
    if data.startswith(MARK):
        data = data.partition(b"\n")[2]
    return schema_line(path) + data


def main() -> int:
    """Write the schemas and the lines, or say which are out of date."""
    due = {schema_path(kind): schema_text(kind).encode() for kind in FILE_KINDS}
    due.update({path: with_line(path) for path in examples()})
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
