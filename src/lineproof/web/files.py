"""Everything the server gives out that is no page: read once at the start, by name, from memory.

No request is ever turned into a path, so nothing beside these can be asked for.
"""

from __future__ import annotations

import base64
import functools
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from types import MappingProxyType

from lineproof.paper import fonts
from lineproof.web.look import colours_css

TYPES = MappingProxyType(
    {
        "css": "text/css; charset=utf-8",
        "js": "text/javascript; charset=utf-8",
        "ttf": "font/ttf",
        "svg": "image/svg+xml",
    }
)
#: The style sheet begins with the colours.
STYLE = "style.css"
FONTS = MappingProxyType({"regular.ttf": fonts.REGULAR, "bold.ttf": fonts.BOLD})


@dataclass(frozen=True, kw_only=True)
class File:
    """One file: what it is made of, its type, and a mark that changes with it."""

    data: bytes
    media_type: str
    mark: str


@functools.cache
def static_files() -> Mapping[str, File]:
    """Give every file by its name."""
    found = {
        item.name: item.read_bytes()
        for item in resources.files("lineproof.web").joinpath("static").iterdir()
        if item.name.rpartition(".")[2] in TYPES
    }
    found[STYLE] = colours_css().encode() + found[STYLE]
    for name, file in FONTS.items():
        found[name] = (fonts.folder() / file).read_bytes()
    return MappingProxyType({name: _file(name, found[name]) for name in sorted(found)})


def with_letters(svg: str) -> str:
    """Give a drawing of the paper with its letters in it: as a picture in a page it can't ask.

    Without them a browser takes whatever letters it has, wider than the places left for them.
    """
    head, closed, rest = svg.partition(">")
    return f"{head}{closed}{_letters()}{rest}"


@functools.cache
def _letters() -> str:
    faces = "".join(
        f'@font-face{{font-family:"{fonts.FAMILY}";font-weight:{weight};'
        f"src:url(data:font/ttf;base64,{base64.b64encode(static_files()[name].data).decode()})}}"
        for name, weight in (("regular.ttf", 400), ("bold.ttf", 700))
    )
    return f"<style>{faces}</style>"


def _file(name: str, data: bytes) -> File:
    kind = TYPES[name.rpartition(".")[2]]
    return File(data=data, media_type=kind, mark=hashlib.sha256(data).hexdigest()[:10])


def static_href(name: str) -> str:
    """Give the address of a file; it changes when the file does, so it may be kept for long."""
    return f"/static/{name}?v={static_files()[name].mark}"
