"""The show folder a command works on."""

from __future__ import annotations

import argparse
from pathlib import Path

from lineproof.base.errors import CannotRead, WrongCommand
from lineproof.base.names import nearest
from lineproof.base.together import finish_writing
from lineproof.show.read import SHOW_FILE, Reading, read_show


def add_show(parser: argparse.ArgumentParser) -> None:
    """Add the argument that names the show's folder."""
    parser.add_argument("show", nargs="?", default=".", metavar="SHOW", help="the show's folder")


def add_draft(parser: argparse.ArgumentParser) -> None:
    """Add the option to work on the draft."""
    parser.add_argument(
        "--draft", action="store_true", help="work on the draft, not the issued plan"
    )


def folder_of(args: argparse.Namespace) -> Path:
    """Give the show's folder; raises WrongCommand if there is no show in it."""
    folder = Path(args.show)
    if folder.name == SHOW_FILE and folder.is_file():
        folder = folder.parent
    if not folder.is_dir():
        beside = (
            [p.name for p in folder.parent.iterdir() if p.is_dir()]
            if folder.parent.is_dir()
            else []
        )
        near = nearest(folder.name, beside)
        hint = f"; did you mean {near!r}?" if near else ""
        raise WrongCommand(f"there is no folder {args.show!r}{hint}")
    if not (folder / SHOW_FILE).exists():
        raise WrongCommand(f"there is no {SHOW_FILE} in {args.show!r}: `lineproof new` writes one")
    finish_writing(folder)
    return folder


def read(folder: Path) -> Reading:
    """Give what the folder holds; raises CannotRead when nothing can be made of it."""
    reading = read_show(folder)
    if reading.show is None:
        raise CannotRead("the show can't be read", reading.findings)
    return reading
