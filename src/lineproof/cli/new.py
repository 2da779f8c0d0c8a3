"""`lineproof new`: a commented starter show, or a generated one of a size."""

from __future__ import annotations

import argparse
from importlib import resources
from pathlib import Path

from lineproof.base.errors import Refused, WrongCommand
from lineproof.base.files import write_whole
from lineproof.cli.tell import Tell
from lineproof.show.generate import SIZES, generate

#: The starter's files, as they lie in the package and as they are called in the new folder.
STARTER = ("show.yaml", "lines.csv")


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("folder", metavar="DIR", help="the new show's folder")
    parser.add_argument(
        "--size", choices=tuple(SIZES), default="", help="generate a show of this size instead"
    )
    parser.add_argument(
        "--seed", type=int, metavar="N", help="what it is drawn from: the same again for the same N"
    )


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Write the show; never over anything that is there."""
    if args.seed is not None and not args.size:
        raise WrongCommand("--seed needs --size: only a generated show is drawn from anything")
    folder = Path(args.folder)
    if folder.exists() and any(folder.iterdir() if folder.is_dir() else [folder]):
        raise Refused(f"{args.folder!r} is not empty: name a new folder")
    files = _generated(args) if args.size else _starter()
    for name, data in files.items():
        write_whole(folder / name, data)
    what = f"a generated show ({args.size})" if args.size else "a starter show"
    tell.line(f"{what} lies in {folder}: change it, then `lineproof plan {folder}`")
    tell.answer("new", {"folder": str(folder), "files": list(files)})
    return 0


def _starter() -> dict[str, bytes]:
    source = resources.files("lineproof.show") / "starter"
    return {name: (source / name).read_bytes() for name in STARTER}


def _generated(args: argparse.Namespace) -> dict[str, bytes]:
    seed = 1 if args.seed is None else args.seed
    return {name: text.encode() for name, text in generate(args.size, seed).items()}
