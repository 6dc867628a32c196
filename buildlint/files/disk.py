"""What stands in a file on the disk, or why it is not read."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from buildlint.files.fault import Fault

__all__ = ["LARGEST", "bytes_of", "inside", "too_large"]

#: The most bytes that a file may have: a season's parts file fills a tenth of it.
LARGEST = 1_000_000

# A file that was put in the place of a checked one cannot hold the run up.
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def bytes_of(path: Path, kind: str, root: Path | None, links: dict[str, bool]) -> bytes | Fault:
    """Return what stands in a file, or why it is not read; raises OSError where it cannot be."""
    status = os.lstat(path)
    link = stat.S_ISLNK(status.st_mode)
    folder = str(path.parent)
    if folder not in links:
        links[folder] = root is not None and _through_link(path, root)
    if root is not None and (link or links[folder]) and not inside(path, root):
        what = "is" if link else "stands behind"
        return Fault("file/unreadable", f"{what} a link that leads out of the repository")
    if link:
        status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "not a file"
        return Fault("file/unreadable", f"is {what}, though named like a {kind} file")
    if status.st_size > LARGEST:
        return too_large(status.st_size)
    opened = os.open(path, _FLAGS)
    try:
        if not stat.S_ISREG(os.fstat(opened).st_mode):
            return Fault("file/unreadable", f"is not a file, though named like a {kind} file")
        # one byte more than it had: most files are read whole by this
        data = os.read(opened, status.st_size + 1)
        while len(data) != status.st_size and len(data) <= LARGEST:
            more = os.read(opened, LARGEST + 1 - len(data))
            if not more:
                break
            data += more
    finally:
        os.close(opened)
    # grown since its size was asked
    return data if len(data) <= LARGEST else too_large(len(data))


def _through_link(path: Path, root: Path) -> bool:
    """Return whether a folder on the way from the root to a file is a link."""
    folder, top = os.path.dirname(path), len(str(root))  # noqa: PTH120
    while len(folder) > top:
        if os.path.islink(folder):  # noqa: PTH114
            return True
        folder = os.path.dirname(folder)  # noqa: PTH120
    return False


def inside(path: Path, root: Path) -> bool:
    """Return whether a path stays below a root once every link on the way is followed."""
    try:
        return path.resolve().is_relative_to(root.resolve())
    except (OSError, RuntimeError):
        return True  # a loop of links: reading it says so


def too_large(size: int) -> Fault:
    """Return the fault of a file of so many bytes."""
    return Fault("file/too-large", f"has {size:,} bytes; a file has at most {LARGEST:,}")
