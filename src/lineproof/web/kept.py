"""Pages of a large show kept from the last time, so that it opens at once while it is read again.

The same files give the same pages, as long as the same program makes them. What is kept counts only
while every file of the folder and of this package is as it was then, and is replaced on the page as
soon as the show has been worked out anew.
"""

from __future__ import annotations

import contextlib
import functools
import gzip
import hashlib
import json
import os
import sys
from collections.abc import Callable, Mapping
from importlib import resources
from pathlib import Path
from stat import S_ISREG
from types import MappingProxyType
from typing import Any

from lineproof import __version__
from lineproof.base.files import write_whole
from lineproof.web.pages import drawn
from lineproof.web.views.drill import drill
from lineproof.web.views.lines import lines
from lineproof.web.views.nets import nets
from lineproof.web.views.ready import ready
from lineproof.web.views.room import room
from lineproof.web.watch import Print
from lineproof.web.worked import Worked

#: A page is kept by its address, with its template and what makes its data.
PLAIN: Mapping[str, tuple[str, Callable[[Worked], object]]] = MappingProxyType(
    {
        "/": ("ready.html", ready),
        "/lines": ("lines.html", lines),
        "/room": ("room.html", room),
        "/drill": ("drill.html", drill),
        "/nets": ("nets.html", nets),
    }
)
FORMAT = 2
#: Nobody but who runs it may read what is kept of a show.
OWN_ONLY = 0o700
#: The value that a kept page is of: any other is newer.
BOOT = "kept"


def keep(worked: Worked, print_: Print) -> None:
    """Keep the pages of a show; where they can't be written it is as if there were none."""
    pages = {
        href: drawn(template, view=make(worked), here=href, boot=BOOT)
        for href, (template, make) in PLAIN.items()
    }
    data = {"format": FORMAT, "made by": code_mark(), "print": _told(print_), "pages": pages}
    with contextlib.suppress(OSError):
        path = _path(worked.folder)
        path.parent.mkdir(mode=OWN_ONLY, parents=True, exist_ok=True)
        write_whole(path, gzip.compress(json.dumps(data).encode(), 5))


def kept(folder: Path, print_: Print) -> Mapping[str, str]:
    """Give the kept pages by address; none where anything in the folder differs."""
    try:
        data: Any = json.loads(gzip.decompress(_path(folder).read_bytes()))
        same = (data["format"], data["made by"], data["print"])
        pages = data["pages"]
    except (OSError, ValueError, KeyError, TypeError, EOFError):
        return {}
    if same != (FORMAT, code_mark(), _told(print_)) or not isinstance(pages, dict):
        return {}
    return {str(href): str(text) for href, text in pages.items()}


@functools.cache
def code_mark() -> str:
    """Give what changes with anything in this package: its version, and each file's time and size.

    It is taken once, before anything is worked out: what runs is what was loaded then.
    """
    package = Path(str(resources.files("lineproof")))
    files = sorted(
        (path.relative_to(package).as_posix(), stat.st_mtime_ns, stat.st_size)
        for path in package.rglob("*")
        if path.suffix != ".pyc" and S_ISREG((stat := path.stat()).st_mode)
    )
    return hashlib.sha256(repr((__version__, files)).encode()).hexdigest()


def _told(print_: Print) -> str:
    return hashlib.sha256(repr(print_).encode()).hexdigest()


def _path(folder: Path) -> Path:
    name = hashlib.sha256(str(folder.resolve()).encode()).hexdigest()[:24]
    return _cache() / "pages" / f"{name}.json.gz"


def _cache() -> Path:
    """Give where programs keep what can be made again (XDG base directories, and their like)."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData/Local")) / "lineproof"
    if sys.platform == "darwin":
        return Path.home() / "Library/Caches/lineproof"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "lineproof"
