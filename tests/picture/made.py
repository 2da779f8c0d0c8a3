"""Pictures for the tests, and a small show with one behind its room."""

from __future__ import annotations

import struct
import subprocess
import zlib
from collections.abc import Callable
from pathlib import Path

from lineproof.base.rule import EXAMPLE_LINES, EXAMPLE_SHOW

PICTURE = (
    "picture: {file: hall.png, first: {pixel: [90, 60], at: [-8, 0]}, "
    "second: {pixel: [410, 300], at: [8, 12]}}\n"
)


def chunk(kind: bytes, data: bytes) -> bytes:
    """Give a chunk of a PNG (W3C PNG, 5.3)."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(
    wide: int, high: int, dark: Callable[[int, int], bool] = lambda x, y: False, more: bytes = b""
) -> bytes:
    """Give a PNG in grey, white where it isn't `dark`; `more` stands before what is drawn."""
    rows = b"".join(
        b"\0" + bytes(0 if dark(x, y) else 255 for x in range(wide)) for y in range(high)
    )
    head = struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0)
    drawn = chunk(b"IHDR", head) + more + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + drawn


def by_ffmpeg(folder: Path, name: str, size: tuple[int, int], *more: str) -> bytes:
    """Give a picture of that size that another program has written."""
    wide, high = size
    drawn = f"testsrc=size={wide}x{high}:rate=5"
    command = ["ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i", drawn, *more, name]
    subprocess.run(command, cwd=folder, check=True, capture_output=True, timeout=60)
    return (folder / name).read_bytes()


def held_so(jpeg: bytes, orientation: int, order: str = ">") -> bytes:
    """Give a JPEG with a note of how the camera was held (CIPA DC-008, 4.5.2, 4.6.4)."""
    begins = b"MM" if order == ">" else b"II"
    entry = struct.pack(f"{order}HHIHH", 0x0112, 3, 1, orientation, 0)
    tiff = begins + struct.pack(f"{order}HIH", 42, 8, 1) + entry + b"\0\0\0\0"
    note = b"Exif\0\0" + tiff
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(note) + 2) + note + jpeg[2:]


def put_show(folder: Path, picture: str = PICTURE, **files: bytes) -> Path:
    """Write the little show with a picture, and files beside it (`hall_png` is hall.png)."""
    folder.mkdir(parents=True, exist_ok=True)
    assert EXAMPLE_SHOW.count("ducts:\n") == 1
    text = EXAMPLE_SHOW.replace("ducts:\n", f"{picture}ducts:\n")
    (folder / "show.yaml").write_text(text, "utf-8")
    (folder / "lines.csv").write_text(EXAMPLE_LINES, "utf-8")
    for name, data in files.items():
        (folder / name.replace("_", ".")).write_bytes(data)
    return folder
