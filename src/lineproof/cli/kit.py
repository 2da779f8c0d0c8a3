"""`lineproof kit`: the kinds of equipment, listed and explained."""

from __future__ import annotations

import argparse

from lineproof.base.errors import WrongCommand
from lineproof.base.names import folded, nearest
from lineproof.cli.folder import read
from lineproof.cli.tell import Tell
from lineproof.kit.explain import explain_kind, list_kinds
from lineproof.kit.kinds import Kit
from lineproof.kit.load import kind_to_table, load_kit


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    parser.add_argument("kind", nargs="?", help="explain this kind (default: list all)")
    parser.add_argument("--show", metavar="SHOW", help="with the kinds of the show in this folder")


def run(args: argparse.Namespace, tell: Tell) -> int:
    """List the kinds, or explain one."""
    kit = _kit(args)
    if args.kind:
        return _explain(args.kind, kit, tell)
    rows = list(list_kinds(kit))
    for row in rows:
        tell.line("  ".join(str(cell) for cell in row))
    tell.answer("kit", {"kinds": {name: kind_to_table(kit.kinds[name]) for name in kit.kinds}})
    return 0


def _kit(args: argparse.Namespace) -> Kit:
    if args.show is None:
        return load_kit()
    from pathlib import Path

    show = read(Path(args.show)).show
    assert show is not None
    return show.kit


def _explain(word: str, kit: Kit, tell: Tell) -> int:
    by_fold = {folded(name): kind for name, kind in kit.kinds.items()}
    kind = by_fold.get(folded(word))
    if kind is None:
        near = nearest(word, kit.kinds)
        hint = f"; did you mean {near!r}?" if near else ""
        raise WrongCommand(f"there is no kind {word!r}{hint}")
    for name, text in explain_kind(kind):
        tell.line(f"{name:<28}{text}")
    tell.answer("kit", {"kind": kind.name, **kind_to_table(kind)})
    return 0
