"""Where each key and value of a file stands: lines and columns, counted in characters from 1.

Only a file with a finding needs this, so the parser is loaded when the first one does.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from tree_sitter import Node

__all__ = ["START", "KeyPath", "Place", "Places", "key_path", "line_and_column", "tree_of"]

# What belongs to a file here is never nested as deep; deeper, the table above is near enough.
_DEEPEST = 16

KeyPath = tuple[str, ...]


class Place(NamedTuple):
    """A stretch of one line; the end column is one past its last character."""

    line: int
    column: int
    end_column: int


#: The start of a file, where nothing nearer is known.
START = Place(1, 1, 1)


def line_and_column(data: bytes, at: int) -> tuple[int, int]:
    """Return the line and the column of a byte, in bytes that are UTF-8 text up to there."""
    before = data[:at]
    line_start = before.rfind(b"\n") + 1
    return before.count(b"\n") + 1, len(before[line_start:].decode("utf-8", "replace")) + 1


class Places:
    """The places of one file's keys and values.

    >>> places = Places(b'car = "heron"\\n[front]\\nhold_back = "6.4 mm"\\n')
    >>> places.of_value(("front", "hold_back"))
    Place(line=3, column=13, end_column=21)
    >>> places.of_key(("front",))
    Place(line=2, column=2, end_column=7)
    >>> places.of_key(("front", "oil"))   # not there: the nearest table that is
    Place(line=2, column=2, end_column=7)
    """

    def __init__(self, data: bytes, mended: str = "") -> None:
        """Read the file's bytes (UTF-8, with or without a byte order mark).

        Of a broken file, keys are looked for in what was `mended` of it, line for line.
        """
        data = data.removeprefix(b"\xef\xbb\xbf")
        self._lines = data.split(b"\n")
        self._counts: dict[int, list[int] | None] = {}
        self._keys: dict[KeyPath, Place] = {}
        self._values: dict[KeyPath, Place] = {}
        self._array_counts: dict[KeyPath, int] = {}
        for node in tree_of(mended.encode() or data).children:
            if node.type in ("table", "table_array_element"):
                self._table(node)
            elif node.type == "pair":
                self._pair(node, ())

    def of_key(self, path: KeyPath) -> Place:
        """Return the place of the key, or of the nearest table above it that is known."""
        return self._nearest(path, (self._keys,))

    def of_value(self, path: KeyPath) -> Place:
        """Return the place of the value, else of its key, else of the nearest table above it."""
        return self._nearest(path, (self._values, self._keys))

    def line(self, number: int) -> str:
        """Return the text of a line, without its ending."""
        if not 1 <= number <= len(self._lines):
            return ""
        return self._lines[number - 1].decode("utf-8", "replace").rstrip("\r")

    def _nearest(self, path: KeyPath, tables: tuple[dict[KeyPath, Place], ...]) -> Place:
        for places in tables:
            if path in places:
                return places[path]
        while path:
            path = path[:-1]
            if path in self._keys:
                return self._keys[path]
        return START

    def _table(self, node: Node) -> None:
        head = next((c for c in node.children if c.type.endswith("key")), None)
        if head is None:
            return
        path = key_path(head)
        if len(path) > _DEEPEST:
            return
        if node.type == "table_array_element":
            count = self._array_counts.get(path, 0)
            self._array_counts[path] = count + 1
            path = (*path, str(count))
        self._note_key(path, head)
        for child in node.children:
            if child.type == "pair":
                self._pair(child, path)

    def _pair(self, node: Node, above: KeyPath) -> None:
        children = [c for c in node.children if c.type != "="]
        if len(children) < 2:
            return
        head, value = children[0], children[1]
        path = above + key_path(head)
        if len(path) > _DEEPEST:
            return
        self._note_key(path, head)
        self._values.setdefault(path, self._place(value))
        self._inside(value, path)

    def _inside(self, value: Node, path: KeyPath) -> None:
        if len(path) > _DEEPEST:
            return
        if value.type == "inline_table":
            for child in value.children:
                if child.type == "pair":
                    self._pair(child, path)
        elif value.type == "array":
            for index, child in enumerate(_items(value)):
                item = (*path, str(index))
                self._values.setdefault(item, self._place(child))
                self._inside(child, item)

    def _note_key(self, path: KeyPath, head: Node) -> None:
        self._keys.setdefault(path, self._place(head))
        # a table that only stands as part of a longer name is found at that name
        for length in range(1, len(path)):
            self._keys.setdefault(path[:length], self._place(head))

    def _place(self, node: Node) -> Place:
        (row, start), (end_row, end) = node.start_point, node.end_point
        line = self._lines[row]
        last = end if end_row == row else len(line.rstrip(b"\r"))
        return Place(row + 1, self._characters(row, start) + 1, self._characters(row, last) + 1)

    def _characters(self, row: int, column: int) -> int:
        """Return how many characters a line has before a byte."""
        if row not in self._counts:
            line = self._lines[row]
            # a byte of the form 10xxxxxx goes on with a character
            starts = ((byte & 0xC0) != 0x80 for byte in line)
            self._counts[row] = None if line.isascii() else [0, *accumulate(starts)]
        counts = self._counts[row]
        return column if counts is None else counts[column]


def tree_of(data: bytes) -> Node:
    """Return what a file's bytes (UTF-8) are to the parser of TOML."""
    import tree_sitter_toml
    from tree_sitter import Language, Parser

    return Parser(Language(tree_sitter_toml.language())).parse(data).root_node


def key_path(node: Node) -> KeyPath:
    """Return the parts of a key, plain, quoted or dotted."""
    parts: list[str] = []
    while node.type == "dotted_key":
        # it holds the shorter dotted key, then the last part
        *others, last = (c for c in node.children if c.is_named)
        parts.append(_key_text(last))
        if not others:
            return tuple(reversed(parts))
        node = others[0]
    return (_key_text(node), *reversed(parts))


def _items(array: Node) -> Iterator[Node]:
    return (c for c in array.children if c.is_named and c.type != "comment")


def _key_text(node: Node) -> str:
    text = (node.text or b"").decode("utf-8", "replace")
    return _unquoted(text) if node.type == "quoted_key" else text


def _unquoted(text: str) -> str:
    if text.startswith('"'):
        import tomli

        try:
            return str(next(iter(tomli.loads(f"{text} = 0"))))
        except (tomli.TOMLDecodeError, StopIteration):
            return text[1:-1]
    return text[1:-1]
