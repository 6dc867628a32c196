"""A TOML file's text with keys set or taken out; all else, comments too, stays as it stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from buildlint.files.places import KeyPath, key_path, tree_of
from buildlint.text.words import in_toml

if TYPE_CHECKING:
    from tree_sitter import Node

__all__ = ["edited"]


def edited(text: str, changes: Mapping[KeyPath, str | None]) -> str:
    r"""Return the text with each key set to a string, or taken out where that is None.

    A table that has nothing left goes too; comments in it stay.

    >>> print(edited('a = "b"  # why\n[t]\n# see\nc = 1\n', {("a",): "x", ("t", "c"): None}))
    a = "x"  # why
    # see
    <BLANKLINE>
    """
    data = text.encode()
    for path, value in changes.items():
        data = _without(data, path) if value is None else _with(data, path, in_toml(value))
    return data.decode()


def _pairs(data: bytes) -> dict[KeyPath, Node]:
    """Return each key of a file with its value, as one node of the tree."""
    found: dict[KeyPath, Node] = {}

    def take(node: Node, above: KeyPath) -> None:
        for pair in _children(node, "pair"):
            head, value = _head_and_value(pair)
            path = (*above, *key_path(head))
            found[path] = pair
            if value.type == "inline_table":
                take(value, path)

    root = tree_of(data)
    take(root, ())
    for path, table in _tables(root):
        take(table, path)
    return found


def _tables(root: Node) -> Iterator[tuple[KeyPath, Node]]:
    for table in _children(root, "table"):
        yield key_path(table.named_children[0]), table


def _head_and_value(pair: Node) -> list[Node]:
    # a comment behind the value belongs to the pair
    return [child for child in pair.named_children if child.type != "comment"]


def _children(node: Node, kind: str) -> list[Node]:
    return [child for child in node.children if child.type == kind]


def _without(data: bytes, path: KeyPath) -> bytes:
    pair = _pairs(data).get(path)
    table = pair.parent if pair is not None else None
    if pair is None or table is None:
        return data
    others = _children(table, "pair")
    at = others.index(pair)
    if table.type == "inline_table":
        if len(others) == 1:
            return _without(data, path[: -len(key_path(pair.named_children[0]))])
        start, end = (
            (pair.start_byte, others[at + 1].start_byte)
            if at == 0
            else (others[at - 1].end_byte, pair.end_byte)
        )
        return data[:start] + data[end:]
    left = _without_lines(data, pair)
    if table.type == "table" and len(others) == 1:
        left = _without_lines(left, table.named_children[0])  # it stands above, unmoved
    return left


def _without_lines(data: bytes, node: Node) -> bytes:
    """Take out the lines that a node stands on, and one of two empty lines around them.

    A comment behind it stays, as a line of its own.
    """
    lines = data.splitlines(keepends=True)
    first, last = node.start_point[0], node.end_point[0]
    above, below = lines[:first], lines[last + 1 :]
    # behind a value the comment belongs to the pair, behind a heading it does not
    comment = _children(node, "comment")
    behind = comment[0].start_byte if comment else node.end_byte
    _, sign, text = data[behind:].partition(b"\n")[0].partition(b"#")
    if sign:
        return b"".join((*above, sign + text + b"\n", *below))
    if above and not above[-1].strip() and not (below and below[0].strip()):
        above = above[:-1]
    return b"".join((*above, *below))


def _with(data: bytes, path: KeyPath, value: str) -> bytes:
    pairs = _pairs(data)
    toml = value.encode()
    if path in pairs:
        _, old = _head_and_value(pairs[path])
        return data[: old.start_byte] + toml + data[old.end_byte :]
    key = path[-1].encode()
    beside = [pair for known, pair in pairs.items() if known[:-1] == path[:-1]]
    if not beside:
        return _in_table(data, path, b"%s = %s" % (key, toml))
    last = beside[-1]
    if last.parent is not None and last.parent.type == "inline_table":
        return b"%s, %s = %s%s" % (data[: last.end_byte], key, toml, data[last.end_byte :])
    head = last.named_children[0]
    if head.type == "dotted_key":  # bench.by = "...": the new one begins in the same way
        key = data[head.start_byte : head.named_children[-1].start_byte] + key
    return _with_line(data, last.end_point[0] + 1, b"%s = %s" % (key, toml))


def _in_table(data: bytes, path: KeyPath, line: bytes) -> bytes:
    for known, table in _tables(tree_of(data)):
        if known == path[:-1]:
            return _with_line(data, table.start_point[0] + 1, line)
    header = f"[{'.'.join(path[:-1])}]".encode()
    return _with_line(_with_line(data, data.count(b"\n") + 1, header), data.count(b"\n") + 2, line)


def _with_line(data: bytes, at: int, line: bytes) -> bytes:
    """Put a line in front of the line of a number, counted from nothing."""
    lines = data.splitlines(keepends=True)
    end = b"\r\n" if b"\r\n" in data else b"\n"
    if lines[:at] and not lines[:at][-1].endswith(b"\n"):
        lines[at - 1] += end
    return b"".join((*lines[:at], line + end, *lines[at:]))
