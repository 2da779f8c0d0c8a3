"""`lineproof new`: a commented starter show."""

from __future__ import annotations

import argparse
from importlib import resources
from pathlib import Path

from lineproof.base.errors import Refused
from lineproof.base.files import write_whole
from lineproof.cli.tell import Tell

#: The starter's files, as they lie in the package and as they are called in the new folder.
STARTER = ("show.yaml", "lines.csv")


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("folder", metavar="DIR", help="the new show's folder")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Write the starter; never over anything that is there."""
    folder = Path(args.folder)
    if folder.exists() and any(folder.iterdir() if folder.is_dir() else [folder]):
        raise Refused(f"{args.folder!r} is not empty: name a new folder")
    source = resources.files("lineproof.show") / "starter"
    for name in STARTER:
        write_whole(folder / name, (source / name).read_bytes())
    tell.line(f"a starter show lies in {folder}: change it, then `lineproof plan {folder}`")
    tell.answer("new", {"folder": str(folder), "files": list(STARTER)})
    return 0
