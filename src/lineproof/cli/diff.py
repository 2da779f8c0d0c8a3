"""`lineproof diff`: what differs between two plans, and what moves between acts."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from lineproof.base.errors import CannotRead, WrongCommand
from lineproof.base.names import folded, nearest
from lineproof.cli.folder import add_show, folder_of
from lineproof.cli.tell import Tell
from lineproof.plan.diff import difference_data, differences
from lineproof.plan.model import Plan
from lineproof.plan.network_diff import network_difference_data, network_differences
from lineproof.plan.recognise import recognise
from lineproof.plan.store import read_draft, read_revision, revisions
from lineproof.reckon.changeover import Changeover, How, Move, changeovers
from lineproof.show.model import Show
from lineproof.show.read import read_show


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    parser.add_argument("before", nargs="?", help="a revision's number (default: the last issued)")
    parser.add_argument("after", nargs="?", help="a revision's number, or draft (default: draft)")
    parser.add_argument(
        "--act",
        metavar="ACT",
        help="only what moves before this act, after the act before it on its stage",
    )


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Tell every part of a line that is decided otherwise, then every changeover between acts."""
    folder = folder_of(args)
    numbers = revisions(folder)
    before = args.before or (str(numbers[-1]) if numbers else "none")
    after = args.after or ("draft" if read_draft(folder) or not numbers else str(numbers[-1]))
    plan, old = _plan(folder, after), _plan(folder, before)
    differ = differences(old, plan)
    nets = network_differences(old.network, plan.network)
    show = read_show(folder).show
    turns = _changeovers(show, plan) if show else ()
    if args.act is not None:
        turns = _of_act(args.act, show, turns)
    else:
        for difference in differ:
            tell.line(str(difference))
        for change in nets:
            tell.line(str(change))
        names = f"{_title(before)} and {_title(after)}"
        tell.line(f"{len(differ) + len(nets) or 'no'} differences between {names}")
    for turn in turns:
        _tell_changeover(tell, turn)
    if show is None:
        tell.aside("the show can't be read, so nothing is told of its acts: see `lineproof check`")
    data = {"before": before, "after": after}
    found: dict[str, Any] = {}
    if args.act is None:
        found["differences"] = [difference_data(d) for d in differ]
        found["network"] = [network_difference_data(d) for d in nets]
    tell.answer("diff", {**data, **found, "changeovers": [_data(turn) for turn in turns]})
    return 0


def _changeovers(show: Show, plan: Plan) -> tuple[Changeover, ...]:
    """Give what moves between acts; a line whose number shifted is still the one that hangs."""
    return changeovers(show, recognise(show, plan).plan)


def _of_act(word: str, show: Show | None, turns: tuple[Changeover, ...]) -> tuple[Changeover, ...]:
    acts = [act.name for act in show.acts] if show else []
    name = next((act for act in acts if folded(act) == folded(word)), None)
    if name is None:
        near = nearest(word, acts)
        hint = f"; did you mean {near!r}?" if near else ""
        raise WrongCommand(f"no act of the show is called {word!r}{hint}")
    found = tuple(turn for turn in turns if turn.after.name == name)
    if not found:
        raise WrongCommand(f"no act comes before {name} on its stage: nothing is changed over")
    return found


# -- a changeover in words ---------------------------------------------------------------------


def _tell_changeover(tell: Tell, turn: Changeover) -> None:
    plugs = f"{turn.count or 'no'} {'plug moves' if turn.count == 1 else 'plugs move'}"
    when = "while it plays" if turn.after.build == "before" else "in between"
    tell.line()
    tell.line(f"{turn.before.name} to {turn.after.name}, {when}: {plugs}")
    for move in turn.moves:
        tell.line(f"  {_what(move):<9} {move.at:<16} {_words(move)}")


def _what(move: Move) -> str:
    return "free" if move.fresh else {How.PHANTOM: "48 V"}.get(move.how, move.how.value)


def _words(move: Move) -> str:
    """Say what comes off and what goes on, from where, and what to mind."""
    off, on = _off(move), _on(move)
    said = [f"{off} -> {on}" if off else on]
    if move.how is not How.MULTIPIN:
        said.append(f"from {move.now.other}" if move.spot.side.value != "out" else move.now.other)
    if move.phantom is not None:
        said.append(f"48 V {'on' if move.phantom else 'off'}")
    if move.mute_first:
        said.append("mute first")
    return ", ".join(said)


def _off(move: Move) -> str:
    if move.off:
        return f"multipin of {move.off}"
    if move.was is None or move.how is How.PHANTOM:
        return ""
    return f"{move.was.line.key.number} {move.was.line.name}"


def _on(move: Move) -> str:
    if move.how is How.MULTIPIN:
        return f"multipin of {move.on}"
    return f"{move.now.line.key.number} {move.now.line.name}"


def _data(turn: Changeover) -> dict[str, Any]:
    return {
        "act": turn.after.name,
        "after-act": turn.before.name,
        "stage": turn.after.stage,
        "build": turn.after.build,
        "count": turn.count,
        "moves": [_move_data(move) for move in turn.moves],
    }


def _move_data(move: Move) -> dict[str, Any]:
    phantom = {None: "", True: "on", False: "off"}[move.phantom]
    return {
        "how": move.how.value,
        "counts": move.counts,
        "spots": [str(spot) for spot in move.spots],
        "off": _off(move),
        "on": _on(move),
        "line": str(move.now.line.key),
        "other": move.now.other,
        "phantom": phantom,
        "mute-first": move.mute_first,
    }


# -- plans by a word ---------------------------------------------------------------------------


def _plan(folder: Path, word: str) -> Plan:
    if word == "none":
        return Plan()
    if word == "draft":
        draft = read_draft(folder)
        if draft is None:
            raise CannotRead("there is no draft: run `lineproof plan` first")
        return draft
    if not word.isdecimal():
        raise WrongCommand(f"{word!r} is no revision's number and not 'draft'")
    return read_revision(folder, int(word)).plan


def _title(word: str) -> str:
    return {"none": "no plan", "draft": "the draft"}.get(word, f"ISSUED {word}")
