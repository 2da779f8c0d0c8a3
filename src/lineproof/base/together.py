"""Several files that change together: all of them, or none, also when the power fails between."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from lineproof.base.errors import CannotRead, Refused
from lineproof.base.files import write_whole

#: Lies in the folder only while files are being changed; holds what they are to become.
JOURNAL = Path("plan") / ".changing.json"


class _Change(NamedTuple):
    """One file: what it held (a SHA-256, "" if it wasn't there), and what it is to hold."""

    was: str
    new: bytes


def write_together(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write the files (by name relative to `folder`) so that a reader finds all old or all new.

    What they are to become is on disk before the first is touched; whoever opens the folder next
    calls `finish_writing`, which ends what was begun.
    """
    coded = {
        name: {"was": _digest(folder / name), "new": base64.b64encode(data).decode()}
        for name, data in files.items()
    }
    write_whole(folder / JOURNAL, json.dumps(coded).encode())
    finish_writing(folder)


def finish_writing(folder: Path) -> None:
    """End a change that was begun and cut short, if there is one.

    Raises Refused, and touches nothing, if somebody has edited one of the files since: then
    neither state is what people want. Raises CannotRead for a journal that is none of ours.
    """
    try:
        text = (folder / JOURNAL).read_text("utf-8")
    except FileNotFoundError:
        return
    except (OSError, UnicodeDecodeError) as error:
        raise _not_ours(folder, error) from None
    changes = _read(folder, text)
    for name, change in changes.items():
        if _digest(folder / name) not in (change.was, hashlib.sha256(change.new).hexdigest()):
            what = f"{name} was edited after a change of several files was cut short"
            raise Refused(f"{what}: {_do(folder)}")
    for name, change in changes.items():
        write_whole(folder / name, change.new)
    (folder / JOURNAL).unlink(missing_ok=True)


def _read(folder: Path, text: str) -> dict[str, _Change]:
    try:
        data = {
            str(n): (str(x["was"]), base64.b64decode(x["new"])) for n, x in json.loads(text).items()
        }
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise _not_ours(folder, error) from None
    root = folder.resolve()
    for name in data:
        # A folder that somebody sent must not write outside itself.
        if PurePosixPath(name).is_absolute() or not (root / name).resolve().is_relative_to(root):
            raise _not_ours(folder, f"{name!r} lies outside the show's folder")
    return {name: _Change(*change) for name, change in data.items()}


def _not_ours(folder: Path, why: object) -> CannotRead:
    return CannotRead(f"{JOURNAL.as_posix()} can't be used ({why}): {_do(folder)}")


def _do(folder: Path) -> str:
    return f"look at the files it names, then remove {folder / JOURNAL} to keep them as they are"


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        return ""
