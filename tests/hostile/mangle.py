"""Files as they arrive after a bad day: cut, doubled, shifted, filled with what doesn't belong."""

from __future__ import annotations

import random
import zipfile
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
LISTS = ROOT / "tests" / "tables" / "lists"
#: The small ones more often: they are read ten times as fast, and mangled just as well.
SHOWS = [ROOT / "shows" / name for name in ("small", "lantern", "hall")]
HOW_OFTEN = (10, 9, 1)

#: Bits of text that have broken readers before.
SPLINTERS = (
    b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b"\t", b'"', b"'", b"{", b"}", b"[", b"]", b": ",
    b"- ", b"&a ", b"*a", b"!!python/object:os.system ", b"|", b">", b"%", b"@", b"`", b"#", b"..",
    b"../../etc/passwd", b"999999999999999999999", b"1e999", b"-0", b"NaN", b"\xc3\x28",
    "\u202e".encode(), "é".encode("latin-1"), "\U0001f941".encode(), b"=1+1", b"a" * 300,
    b"{a: " * 40, b"[" * 60, b"amp-1..amp-99999", b"x|y|z?", b"desk:0", b"desk:99999",
    b";;;;", b",,,,",
)  # fmt: skip


def cut(data: bytes, rng: random.Random) -> bytes:
    """Give the data without its end."""
    return data[: rng.randrange(len(data) + 1)]


def flip(data: bytes, rng: random.Random) -> bytes:
    """Give the data with a few bytes changed."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 8)):
        if changed:
            changed[rng.randrange(len(changed))] = rng.randrange(256)
    return bytes(changed)


def splinter(data: bytes, rng: random.Random) -> bytes:
    """Give the data with something put in that doesn't belong."""
    at = rng.randrange(len(data) + 1)
    return data[:at] + rng.choice(SPLINTERS) + data[at:]


def rows_about(data: bytes, rng: random.Random) -> bytes:
    """Give the data with rows doubled, swapped or lost."""
    rows = data.split(b"\n")
    for _ in range(rng.randint(1, 4)):
        a, b = rng.randrange(len(rows)), rng.randrange(len(rows))
        match rng.randrange(3):
            case 0:
                rows.insert(a, rows[b])
            case 1:
                rows[a], rows[b] = rows[b], rows[a]
            case _:
                del rows[a]
                rows = rows or [b""]
    return b"\n".join(rows)


def words_about(data: bytes, rng: random.Random) -> bytes:
    """Give the data with two of its words swapped."""
    words = data.split(b" ")
    a, b = rng.randrange(len(words)), rng.randrange(len(words))
    words[a], words[b] = words[b], words[a]
    return b" ".join(words)


WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    cut,
    flip,
    splinter,
    rows_about,
    words_about,
)


def mangled_show(folder: Path, rng: random.Random) -> None:
    """Write a show into `folder` of which one file is mangled, perhaps more than once."""
    (source,) = rng.choices(SHOWS, HOW_OFTEN)
    files = {p.name: p.read_bytes() for p in source.iterdir() if p.is_file()}
    name = rng.choice(sorted(files))
    for _ in range(rng.randint(1, 3)):
        files[name] = rng.choice(WAYS)(files[name], rng)
    for other in folder.iterdir():
        other.unlink()
    for name, data in files.items():
        (folder / name).write_bytes(data)


def mangled_book(path: Path, rng: random.Random) -> Path:
    """Write a mangled list as people's programs save it; gives its path."""
    source = rng.choice(sorted(p for p in LISTS.iterdir() if p.suffix in (".xlsx", ".ods", ".csv")))
    data = source.read_bytes()
    if source.suffix != ".csv" and rng.random() < 0.5:
        data = _inside(source, path.with_suffix(".tmp"), rng)
    else:
        data = rng.choice((cut, flip, splinter))(data, rng)
    target = path.with_suffix(source.suffix)
    target.write_bytes(data)
    return target


def _inside(source: Path, beside: Path, rng: random.Random) -> bytes:
    """Give the book with one of its parts mangled, the container around it whole."""
    with zipfile.ZipFile(source) as book, zipfile.ZipFile(beside, "w") as out:
        names = [n for n in book.namelist() if n.endswith(".xml")]
        victim = rng.choice(names)
        for name in book.namelist():
            data = book.read(name)
            out.writestr(name, rng.choice(WAYS)(data, rng) if name == victim else data)
    data = beside.read_bytes()
    beside.unlink()
    return data
