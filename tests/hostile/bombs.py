"""Shows made to tie up whoever reads them: each a folder, by a name that says what it does."""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Callable
from pathlib import Path

from tests.hostile.mangle import LISTS

HEAD = """\
title: Trap
rate: 48 kHz
places: {stage: {at: [0, 0, 0]}, front: {at: [0, 20, 0]}}
"""
UNITS = """\
units:
  box-1: {kind: box-16-8, place: stage, number: 1}
  desk: {kind: mixer-32, place: front}
  sw: {kind: switch-8, place: front}
"""
LINES = "lines: lines.csv\n"
COLUMNS = "number,name,from,source,to,pair,socket\n"
DIGITS = "9" * 1_000_000


def row(number: object, to: str = "desk", **cells: str) -> str:
    pair, socket = cells.get("pair", ""), cells.get("socket", "")
    start, source = cells.get("start", "stage"), cells.get("source", "dynamic mic")
    return f"{number},Kick,{start},{source},{to},{pair},{socket}\n"


def yaml(text: str) -> dict[str, bytes]:
    """Give a show whose own file is `text`, with a small list."""
    return {"show.yaml": text.encode(), "lines.csv": (COLUMNS + row(1)).encode()}


def inline(cells: str) -> dict[str, bytes]:
    """Give a show with one line written into its own file."""
    return yaml(f"{HEAD}{UNITS}lines: [{{number: 1, from: stage, {cells}}}]\n")


def table(text: str, more: str = "") -> dict[str, bytes]:
    """Give a show whose list is `text`."""
    return {"show.yaml": (HEAD + UNITS + more + LINES).encode(), "lines.csv": text.encode()}


def book(change: Callable[[dict[str, bytes]], None], name: str) -> dict[str, bytes]:
    """Give a show whose list is a workbook with its parts changed."""
    with zipfile.ZipFile(LISTS / name) as source:
        parts = {part: source.read(part) for part in source.namelist()}
    change(parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for part, data in parts.items():
            packed.writestr(part, data)
    ending = name.rpartition(".")[2]
    show = HEAD + UNITS + f"lines: lines.{ending}\n"
    return {"show.yaml": show.encode(), f"lines.{ending}": out.getvalue()}


def _grown(part: str, by: bytes) -> Callable[[dict[str, bytes]], None]:
    def grow(parts: dict[str, bytes]) -> None:
        parts[part] = by + parts[part]

    return grow


def many(count: int, each: Callable[[int], str]) -> str:
    return "".join(each(n) for n in range(count))


def laughs() -> str:
    rows = [f"l{n}: &l{n} [{', '.join([f'*l{n - 1}'] * 9)}]\n" for n in range(1, 12)]
    return "l0: &l0 [ha, ha]\n" + "".join(rows)


BOMBS: dict[str, Callable[[], dict[str, bytes]]] = {
    # -- show.yaml --
    "aliases": lambda: yaml(laughs()),
    "aliases merged": lambda: yaml(HEAD + "units: &u {a: 1}\nlists: {<<: *u}\n" + LINES),
    "flow nesting": lambda: yaml("places: " + "[" * 1_000_000),
    "map nesting": lambda: yaml("places: " + "{a: " * 500_000),
    "block nesting": lambda: yaml(many(2_000, lambda n: " " * n + "a:\n")),
    "dash nesting": lambda: yaml("- " * 1_000_000),
    "two million entries": lambda: yaml("title: [" + "a," * 2_000_000 + "]\n"),
    "half a million keys": lambda: yaml(many(500_000, lambda n: f"k{n}: 1\n")),
    "one key over and over": lambda: yaml("title: a\n" * 145_000),
    "one long word": lambda: yaml("title: " + "a" * 3_500_000 + "\n"),
    "one long key": lambda: yaml("k" * 3_500_000 + ": a\n"),
    "one long quote": lambda: yaml('title: "' + "\\x41" * 900_000 + '"\n'),
    "one long name": lambda: yaml(
        HEAD + UNITS + "lists: {" + "n" * 1_000_000 + ": desk}\n" + LINES
    ),
    "long notes": lambda: yaml(HEAD + "#" * 3_500_000 + "\n" + UNITS + LINES),
    "seven million blanks": lambda: yaml(HEAD + " " * 3_500_000 + "\n" + UNITS + LINES),
    "nine million bytes": lambda: yaml("a" * 9_000_000),
    "a rate of a million digits": lambda: yaml(f"title: A\nrate: {DIGITS} kHz\n"),
    "a million digits and two units": lambda: yaml(f"title: A\nrate: {DIGITS} k Hz\n"),
    "a place a million digits away": lambda: yaml(f"places: {{a: {{at: [{DIGITS}, 0, 0]}}}}\n"),
    "a line of a million digits": lambda: inline(f"to: desk, pair: {DIGITS}"),
    "a million digits as pin": lambda: inline(f"to: desk, socket: {DIGITS}"),
    "a kind of a million digits": lambda: yaml(
        f"{HEAD}{UNITS}kinds: {{a: {{like: box-8-4, supplies: {DIGITS}, mass-kg: '{DIGITS}'}}}}\n"
    ),
    "many kinds": lambda: yaml(
        f"{HEAD}{UNITS}kinds:\n"
        + many(
            10_000,
            lambda n: (
                f"  k{n}: {{does: box, sockets: [{{side: in, count: 1024, "
                "signal: mic, connector: x}]}\n"
            ),
        )
        + LINES
    ),
    "many units": lambda: yaml(
        HEAD + "units:\n" + many(24_000, lambda n: f"  u{n}: {{kind: bux, place: stag}}\n") + LINES
    ),
    "many circuits in a row": lambda: yaml(
        HEAD
        + UNITS
        + "circuits:\n"
        + many(24_000, lambda n: f"  c{n}: {{fed-by: c{n + 1}}}\n")
        + LINES
    ),
    "many circuits in a circle": lambda: yaml(
        HEAD
        + UNITS
        + "circuits:\n"
        + many(24_000, lambda n: f"  c{n}: {{fed-by: c{(n + 1) % 24_000}}}\n")
        + LINES
    ),
    "many acceptances": lambda: yaml(
        HEAD + UNITS + "accept:\n" + "- {finding: x}\n" * 45_000 + LINES
    ),
    "many ducts to nowhere": lambda: yaml(
        HEAD + UNITS + "ducts:\n" + many(24_000, lambda n: f"  d{n}: {{between: [stag, frnt]}}\n")
    ),
    "many defaults": lambda: {
        **table(
            COLUMNS + many(9_000, lambda n: row(n + 1)),
            "defaults:\n  lines.csv:\n" + many(70_000, lambda n: f"    d{n}: x\n"),
        )
    },
    # -- ranges and zones --
    "a range of a million digits": lambda: inline(f"to: 'a-1..a-{DIGITS}'"),
    "a range that isn't": lambda: inline(f"to: '{'1' * 500_000}..'"),
    "a million members": lambda: inline(f"to: '{'desk|' * 700_000}desk'"),
    "ranges over ranges": lambda: inline(f"to: '{'amp-1..amp-2000 ' * 5_000}'"),
    "a zone of thousands in thousands of rows": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, "all")),
        f"zones: {{all: [{'desk, box-1, ' * 20_000}]}}\n",
    ),
    "a range in thousands of rows": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, "amp-1..amp-2000")),
    ),
    "spots in thousands of rows": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, "desk:1-2000")),
    ),
    # -- CSV --
    "a million columns": lambda: table("number," * 1_000_000 + "\n1,Kick\n"),
    "a million rows": lambda: table(COLUMNS + row(1) * 200_000),
    "a million blank rows": lambda: table(COLUMNS + "\n" * 1_000_000),
    "one cell of millions": lambda: table(COLUMNS + row(1, "d" * 3_500_000)),
    "one source of millions": lambda: table(COLUMNS + row(1, source="mic " * 1_700_000)),
    "an open quote": lambda: table(COLUMNS + '"' + row(1) * 9_000),
    "many quotes": lambda: table(COLUMNS + '"' * 3_500_000),
    "many half quotes": lambda: table(COLUMNS + '1,"a\n' * 9_000),
    "rows that name nothing": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, "dsk bux pa rec", start="stagr"))
    ),
    "one number in thousands of rows": lambda: table(COLUMNS + row(1) * 9_000),
    "one socket in thousands of rows": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, socket="box-1:in-3"))
    ),
    "one pair in thousands of rows": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, pair="1"))
    ),
    "one list over and over": lambda: {
        **table(COLUMNS + many(10_000, lambda n: row(n + 1))),
        "show.yaml": (HEAD + UNITS + f"lines: [{'lines.csv, ' * 50_000}]\n").encode(),
    },
    "a hundred rows of headings": lambda: table(
        many(
            100,
            lambda n: (
                "number,name,from,source,to,pair,group,act,note,stand,need,socket,channel,bus,via,"
                + ",".join(f"micorphne {n} {m}" for m in range(12))
                + f"\n{n + 1},Kick,stage,mic,desk\n"
            ),
        )
    ),
    "many lists of odd headings": lambda: {
        "show.yaml": (
            HEAD + UNITS + f"lines: [{', '.join(f'{n}.csv' for n in range(64))}]\n"
        ).encode(),
        **{
            f"{n}.csv": (
                "number,name,from,source,to,"
                + ",".join(f"micorphne {n} {m}" for m in range(250))
                + f"\n{n + 1},Kick,stage,mic,desk\n"
            ).encode()
            for n in range(64)
        },
    },
    "a comma in every row": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1).replace("Kick", "Keys, left"))
    ),
    "a date in every row": lambda: table(
        COLUMNS + many(9_000, lambda n: row(f"{n % 28 + 1}. Jun"))
    ),
    "a switch in every row": lambda: table(
        COLUMNS + many(9_000, lambda n: row(n + 1, "sw", start="sw")),
    ),
    "pairs in a ring": lambda: table(
        COLUMNS + many(4_000, lambda n: row(n + 1, pair=str((n + 1) % 4_000 + 1)))
    ),
    "more zones of nothing than are told": lambda: yaml(
        HEAD + UNITS + "zones:\n" + many(4_000, lambda n: f"  z{n}: [dsk, bux, desl]\n") + LINES
    ),
    # -- workbooks --
    "a zip bomb": lambda: book(
        _grown("xl/worksheets/sheet1.xml", b" " * 400_000_000), "07-festival.xlsx"
    ),
    "an ods bomb": lambda: book(_grown("content.xml", b" " * 400_000_000), "09-choir.ods"),
    "a bomb nobody reads": lambda: book(
        lambda parts: parts.update({"xl/media/a.bin": b"\0" * 400_000_000}), "07-festival.xlsx"
    ),
    # -- letters --
    "nulls": lambda: yaml("\0" * 1_000_000),
    "UTF-16": lambda: {"show.yaml": (HEAD + UNITS).encode("utf-16")},
    "UTF-32": lambda: {"show.yaml": (HEAD + UNITS).encode("utf-32")},
    "half a letter": lambda: {"show.yaml": HEAD.encode() + b"\xe2\x82"},
    "noise": lambda: {"show.yaml": bytes(range(256)) * 4_000},
}


def _named(name: str) -> Callable[[Path], None]:
    """Give a show that names such a file as its list."""

    def make(folder: Path) -> None:
        quoted = name.replace("\\", "\\\\").replace("\0", "\\0")
        (folder / "show.yaml").write_text(f'{HEAD}{UNITS}lines: ["{quoted}"]\n', "utf-8")

    return make


def _linked(target: str) -> Callable[[Path], None]:
    def make(folder: Path) -> None:
        _named("lines.csv")(folder)
        (folder / "lines.csv").symlink_to(target)

    return make


def _circle(folder: Path) -> None:
    _named("a.csv")(folder)
    (folder / "a.csv").symlink_to("b.csv")
    (folder / "b.csv").symlink_to("a.csv")


def _pipe(folder: Path) -> None:
    _named("pipe.csv")(folder)
    os.mkfifo(folder / "pipe.csv")


def _folder(folder: Path) -> None:
    _named("folder.csv")(folder)
    (folder / "folder.csv").mkdir()


def _unreadable(folder: Path) -> None:
    _named("lines.csv")(folder)
    (folder / "lines.csv").write_text("number\n1\n")
    (folder / "lines.csv").chmod(0)


def _show_is_pipe(folder: Path) -> None:
    os.mkfifo(folder / "show.yaml")


def _show_is_folder(folder: Path) -> None:
    (folder / "show.yaml").mkdir()


def _show_links_to(target: str) -> Callable[[Path], None]:
    def make(folder: Path) -> None:
        (folder / "show.yaml").symlink_to(target)

    return make


FILES: dict[str, Callable[[Path], None]] = {
    "a list above": _named("../lines.csv"),
    "a list far above": _named("a/../../../../../../etc/passwd"),
    "a list somewhere else": _named("/etc/passwd"),
    "a list at home": _named("~/lines.csv"),
    "a list on another drive": _named("C:\\\\lines.csv"),
    "a list with a null in its name": _named("lines\0.csv"),
    "a list with a long name": _named("l" * 5_000 + ".csv"),
    "a list on a long way": _named("a/" * 3_000 + "lines.csv"),
    "a list without a name": _named("."),
    "a link out": _linked("/etc/passwd"),
    "a link to zeros": _linked("/dev/zero"),
    "a link to nowhere": _linked("nowhere.csv"),
    "a link to itself": _linked("lines.csv"),
    "links in a circle": _circle,
    "a pipe": _pipe,
    "a folder": _folder,
    "a list nobody may read": _unreadable,
    "the show is a pipe": _show_is_pipe,
    "the show is a folder": _show_is_folder,
    "the show links to zeros": _show_links_to("/dev/zero"),
    "the show links out": _show_links_to("/etc/passwd"),
    "the show links to itself": _show_links_to("show.yaml"),
    "the show links to nowhere": _show_links_to("nowhere.yaml"),
}


def lay(name: str, folder: Path) -> None:
    """Lay out the bomb of that name in an empty folder."""
    if name in FILES:
        FILES[name](folder)
    else:
        for file, data in BOMBS[name]().items():
            (folder / file).write_bytes(data)
