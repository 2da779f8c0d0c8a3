"""`lineproof plan`: a draft from the show and the last issued plan."""

from __future__ import annotations

import argparse

from lineproof.base.errors import CannotPlan, Refused, WrongCommand
from lineproof.base.finding import Finding, in_order
from lineproof.base.spot import LineKey, SpotError
from lineproof.cli.folder import add_show, folder_of, read
from lineproof.cli.tell import Progress, Tell, findings_data, standing_stops, tell_findings
from lineproof.decide.decide import Decision
from lineproof.decide.terms import Term
from lineproof.outcome import work_out
from lineproof.plan.diff import Difference, difference_data, differences
from lineproof.plan.model import Issued, Plan
from lineproof.plan.network import Network
from lineproof.plan.network_diff import (
    NetworkDifference,
    network_difference_data,
    network_differences,
)
from lineproof.plan.store import DRAFT, last_issued, save_draft
from lineproof.show.model import Show


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add this command's arguments."""
    add_show(parser)
    parser.add_argument(
        "--renew", action="append", default=[], metavar="LINE", help="plan this line afresh"
    )
    parser.add_argument("--renew-all", action="store_true", help="plan as if nothing hung yet")
    parser.add_argument(
        "--follow",
        choices=("names", "numbers"),
        default="",
        help="when lines have changed numbers among themselves: what their decisions go by",
    )
    parser.add_argument(
        "--locked", action="store_true", help="refuse (exit 3) if any decision would change"
    )


def run(args: argparse.Namespace, tell: Tell) -> int:
    """Work out a draft, keep it, and tell what it holds."""
    folder = folder_of(args)
    reading = read(folder)
    show = reading.show
    assert show is not None
    issued = last_issued(folder)
    # The solver and the network's planner take a while to load: only what plans pays for them.
    from lineproof.decide.whole import decide_whole

    decision = decide_whole(
        show,
        issued,
        renew=_keys(args.renew, show),
        renew_all=args.renew_all,
        follow=args.follow,
        progress=Progress(tell),
    )
    if decision.plan is None:
        findings = in_order([*reading.findings, *decision.findings])
        raise CannotPlan("no plan exists; the rows above clash", findings)
    before = decision.earlier if not args.renew_all else _issued_plan(issued)
    differ = differences(before, decision.plan)
    nets = network_differences(before.network, decision.plan.network)
    if args.locked and (differ or nets):
        _tell_differences(tell, (*differ, *nets))
        changed = len(differ) + len(nets)
        raise Refused(f"{changed} decisions would change, and --locked was given")
    save_draft(folder, decision.plan)
    outcome = work_out(reading, decision.plan, issued=issued, upto="spots")
    findings = in_order([*outcome.findings, *decision.findings])
    _tell(tell, decision, len(differ) + len(nets), issued.revision if issued else 0)
    tell_findings(tell, findings, notes=False)
    if tell.as_json:
        # The mark takes a while; only who asks for it waits for it.
        tell.answer("plan", _answer(decision, differ, nets, findings, outcome.mark))
    return 1 if standing_stops(findings) else 0


def _answer(
    decision: Decision,
    differ: tuple[Difference, ...],
    nets: tuple[NetworkDifference, ...],
    findings: tuple[Finding, ...],
    mark: str,
) -> dict[str, object]:
    assert decision.plan is not None
    return {
        "lines": len(decision.plan.lines),
        "terms": [_term_data(t) for t in decision.terms],
        "differences": [difference_data(d) for d in differ],
        "network": [network_difference_data(d) for d in nets],
        "findings": findings_data(findings),
        "draft": DRAFT.as_posix(),
        "mark": mark,
    }


#: A longer unit stands once, at the end of its row.
SHORT_UNIT = 2


def _tell_network(tell: Tell, network: Network) -> None:
    """Tell how much network there is to be cabled and set up."""
    if network.nets:
        metres = sum(run.length_m for run in network.runs)
        nets = "1 net" if len(network.nets) == 1 else f"{len(network.nets)} nets"
        tell.line(
            f"{nets}: {len(network.runs)} runs, {metres:.0f} m, {len(network.streams)} streams"
        )


def _issued_plan(issued: Issued | None) -> Plan:
    return issued.plan if issued else Plan()


def _keys(words: list[str], show: Show) -> frozenset[LineKey]:
    keys = set()
    for word in words:
        try:
            key = LineKey.parse(word)
        except SpotError as error:
            raise WrongCommand(str(error)) from None
        line = show.line(key)
        if line is None:
            raise WrongCommand(f"there is no line {word!r} to renew")
        keys.add(line.key)
    return frozenset(keys)


def _tell(tell: Tell, decision: Decision, differ: int, revision: int) -> None:
    assert decision.plan is not None
    tell.line(f"{len(decision.plan.lines)} lines planned; the draft is {DRAFT.as_posix()}")
    if revision:
        tell.line(f"{differ} differ from ISSUED {revision} (`lineproof diff` tells which)")
    tell.line()
    _tell_network(tell, decision.plan.network)
    tell.line()
    tell.line(f"{'what it came to':<23}{'found':>11}{'proven at least':>19}")
    for term in decision.terms:
        tell.line(term_row(term))
    tell.line()


def term_row(term: Term) -> str:
    """Give one wish as a row: name, what it came to, its bound."""
    short = term.unit if len(term.unit) <= SHORT_UNIT else ""
    unit = f" {short}" if short else ""
    found = f"{term.value:.1f}{unit}" if term.unit else f"{term.value:g}"
    bound = ""
    if term.bound is not None:
        bound = f"{term.bound:.1f}{unit}" if term.unit else f"{term.bound:g}"
    tail = f"  {term.unit}" if term.unit and not short else ""
    return f"  {term.name:<21}{found:>11}{bound:>19}{tail}"


def _term_data(term: Term) -> dict[str, object]:
    return {"name": term.name, "value": term.value, "bound": term.bound, "unit": term.unit}


def _tell_differences(tell: Tell, differ: tuple[Difference | NetworkDifference, ...]) -> None:
    for difference in differ:
        tell.line(str(difference))
