"""What a picture file is by its first bytes, and how large, without drawing it.

A name says nothing about what is in a file. Only PNG, JPEG and WebP are taken: they hold dots and
nothing else, while an SVG may hold programs and ask for other files.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

#: A page waits for every byte, and a browser holds four bytes of memory a pixel.
MOST_BYTES = 8_000_000
MOST_PIXELS = 24_000_000

Size = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class PictureFile:
    """A picture as it lies in the folder; `size` is its width and height in pixels as seen."""

    data: bytes = field(repr=False)
    media_type: str
    size: Size


class NotDrawn(ValueError):
    """A file that can't lie behind the room: `what` it is, and what to `do`."""

    def __init__(self, what: str, do: str) -> None:
        super().__init__(what)
        self.what = what
        self.do = do


def picture_of(data: bytes) -> PictureFile:
    """Give the picture in a file's bytes; raises NotDrawn for anything but one we take."""
    if len(data) > MOST_BYTES:
        what = f"is larger than {MOST_BYTES // 1_000_000} MB"
        raise NotDrawn(what, "save it with fewer pixels, or as JPEG")
    for begins, media_type, size_of in _TAKEN:
        if data.startswith(begins):
            try:
                wide, high = size_of(data)
            except (struct.error, IndexError):
                raise _broken() from None
            return PictureFile(data=data, media_type=media_type, size=_within(wide, high))
    raise _not_taken(_other(data))


def _within(wide: int, high: int) -> Size:
    if wide < 1 or high < 1:
        raise _broken()
    if wide * high > MOST_PIXELS:
        most = MOST_PIXELS // 1_000_000
        what = f"has {wide:,} × {high:,} pixels; at most {most} million are drawn"
        raise NotDrawn(what, "save it smaller, and correct the pixels of its two points")
    return wide, high


def _not_taken(other: str) -> NotDrawn:
    what = f"is {other}, no PNG, JPEG or WebP, whatever its name says"
    return NotDrawn(what, "save it as PNG with any picture program, and name that file")


def _broken() -> NotDrawn:
    return NotDrawn("is broken: it doesn't say how large it is", "save it anew, or copy it again")


def _moves() -> NotDrawn:
    return NotDrawn("is a moving picture", "save one still picture of it")


def _other(data: bytes) -> str:
    """Say in words what people may have put there instead."""
    if data.startswith(b"%PDF"):
        return "a PDF"
    if data.startswith((b"GIF87a", b"GIF89a")):
        return "a GIF"
    if not data:
        return "empty"
    head = data[:1_000].removeprefix(b"\xef\xbb\xbf").lstrip()
    if head.startswith(b"<"):
        return "an SVG drawing" if b"<svg" in head else "a text of marks, such as SVG or HTML"
    return "something else"


# -- PNG (W3C PNG, third edition) ----------------------------------------------------------------


def _png_size(data: bytes) -> Size:
    """Read IHDR, which comes first (5.6, 11.2.1); acTL before the first IDAT moves (11.3.6.1)."""
    length, kind, wide, high = struct.unpack_from(">I4sII", data, 8)
    if (length, kind) != (13, b"IHDR"):
        raise _broken()
    at = 8
    while at + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        if kind == b"acTL":
            raise _moves()
        if kind == b"IDAT":
            break
        # Length, name and checksum take twelve bytes beside the chunk itself (5.3).
        at += 12 + length
    return wide, high


# -- JPEG (ITU-T T.81) ---------------------------------------------------------------------------

#: Start of frame, whatever the coding; C4, C8 and CC are something else (table B.1).
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_EXIF = b"Exif\0\0"
#: Orientations that swap width and height (CIPA DC-008, 4.6.4).
_TURNED = range(5, 9)


def _jpeg_size(data: bytes) -> Size:
    """Read the first frame's header (B.2.2), turned where a camera says it was held so."""
    turned = False
    for marker, at in _segments(data):
        if marker == 0xE1 and data.startswith(_EXIF, at + 2):
            turned = turned or _is_turned(data[at + 2 + len(_EXIF) :])
        if marker in _FRAMES:
            high, wide = struct.unpack_from(">HH", data, at + 3)
            return (high, wide) if turned else (wide, high)
    raise _broken()


def _segments(data: bytes) -> Iterator[tuple[int, int]]:
    """Give each marker before the scan, with where its length stands (B.1.1.4)."""
    at = 2
    while data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1  # any number of these may fill up (B.1.1.2)
            continue
        if marker in (0xD9, 0xDA):
            return
        yield marker, at + 2
        (length,) = struct.unpack_from(">H", data, at + 2)
        at += 2 + length


def _is_turned(tiff: bytes) -> bool:
    """Say whether an Exif note tells that the picture is seen turned by a quarter."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return False
    try:
        (first,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, first)
        for n in range(count):
            tag, value = struct.unpack_from(f"{order}H6xH", tiff, first + 2 + 12 * n)
            if tag == 0x0112:
                return int(value) in _TURNED
    except struct.error:
        return False
    return False


# -- WebP (RFC 9649) -----------------------------------------------------------------------------


def _webp_size(data: bytes) -> Size:
    """Read the first chunk: a canvas (2.7), or a picture with (3.4) or without loss (RFC 6386)."""
    if data[8:12] != b"WEBP":
        raise _not_taken("something else")
    kind = data[12:16]
    if kind == b"VP8X":
        flags, wide, more_wide, high, more_high = struct.unpack_from("<B3xHBHB", data, 20)
        if flags & 0x02:
            raise _moves()
        return (wide | more_wide << 16) + 1, (high | more_high << 16) + 1
    if kind == b"VP8L":
        mark, bits = struct.unpack_from("<BI", data, 20)
        if mark != 0x2F:
            raise _broken()
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"VP8 " and data[23:26] == b"\x9d\x01\x2a":
        wide, high = struct.unpack_from("<HH", data, 26)
        return wide & 0x3FFF, high & 0x3FFF
    raise _broken()


_TAKEN: tuple[tuple[bytes, str, Callable[[bytes], Size]], ...] = (
    (b"\x89PNG\r\n\x1a\n", "image/png", _png_size),
    (b"\xff\xd8\xff", "image/jpeg", _jpeg_size),
    (b"RIFF", "image/webp", _webp_size),
)
