"""Several files that change together: all of them, or none, also when the power fails between."""

from __future__ import annotations

import base64
import json
from collections.abc import Mapping
from pathlib import Path

from lineproof.base.files import write_whole

#: Lies in the folder only while files are being changed; holds what they are to become.
JOURNAL = Path("plan") / ".changing.json"


def write_together(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write the files (by name relative to `folder`) so that a reader finds all old or all new.

    What they are to become is on disk before the first is touched; whoever opens the folder next
    calls `finish_writing`, which ends what was begun.
    """
    coded = {name: base64.b64encode(data).decode() for name, data in files.items()}
    write_whole(folder / JOURNAL, json.dumps(coded).encode())
    finish_writing(folder)


def finish_writing(folder: Path) -> None:
    """End a change that was begun and cut short, if there is one."""
    try:
        coded = json.loads((folder / JOURNAL).read_bytes())
    except (OSError, ValueError):
        # No journal; or none that was whole, and then no file was touched yet.
        return
    for name, text in coded.items():
        write_whole(folder / name, base64.b64decode(text))
    (folder / JOURNAL).unlink()
