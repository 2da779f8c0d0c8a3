"""Files that are there whole, before or after, whatever happens in between."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` to `path` so that a reader, or a power cut, finds the old or the new file whole.

    The bytes go to a neighbour first, are forced to disk, then take the name in one step
    (POSIX rename); last the folder itself is forced to disk. A file with the same bytes is left
    untouched, so that an unchanged plan is not rewritten.
    """
    with contextlib.suppress(FileNotFoundError):
        if path.read_bytes() == data:
            return
    with _beside(path, data) as beside:
        beside.replace(path)
        _sync_folder(path.parent)


def write_new(path: Path, data: bytes) -> None:
    """Write `data` to `path`, whole or not at all, and never over a file that is there.

    Raises FileExistsError when the name is taken, even by somebody in the same instant
    (POSIX link gives the name only if it is free).
    """
    with _beside(path, data) as beside:
        os.link(beside, path)
        _sync_folder(path.parent)


@contextlib.contextmanager
def _beside(path: Path, data: bytes) -> Iterator[Path]:
    """Give a neighbour of `path` that holds `data` on disk; it is gone afterwards."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with beside.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        yield beside
    finally:
        with contextlib.suppress(FileNotFoundError):
            beside.unlink()


def _sync_folder(folder: Path) -> None:
    # Windows can't open a folder; its rename is already as durable as it gets.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
