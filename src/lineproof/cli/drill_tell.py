"""What `lineproof drill` says: faults, pairs and odds, in rows and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from lineproof.cli.tell import Tell
from lineproof.drill.group import PairGroup, pair_groups
from lineproof.drill.odds import Odds
from lineproof.drill.verdict import Drilled, State, Verdict
from lineproof.drill.whole import Whole
from lineproof.graph.faults import Fault
from lineproof.reckon.gap import Gap

#: Rows of each list; the rest are counted.
_TOP = 10
_NAMES = 5


def tell_singles(tell: Tell, whole: Whole) -> None:
    """Print the single faults that take most lines."""
    count = len(whole.swept.classes)
    tell.line(f"{whole.tried} single faults tried, {count} of them different to the lines")
    order = sorted(range(count), key=lambda at: -whole.lost_lines[at])
    hurting = [at for at in order if whole.lost_lines[at]]
    total = len(whole.swept.keys)
    for at in hurting[:_TOP]:
        names = some(map(str, whole.swept.classes.members[at]))
        tell.line(f"  {whole.lost_lines[at]:4} of {total} lines lost at some end without {names}")
    _rest(tell, len(hurting), "faults that take something")
    tell.line()


def _rest(tell: Tell, count: int, of: str) -> None:
    if count > _TOP:
        tell.line(f"  and {count - _TOP} more {of}")


def some(names: Iterable[str]) -> str:
    """Give the first names in words, and how many more there are.

    >>> some(["desk"]), some("abcdefg")
    ('desk', 'a, b, c, d, e or 2 more')
    """
    told = list(names)
    more = f" or {len(told) - _NAMES} more" if len(told) > _NAMES else ""
    return ", ".join(told[:_NAMES]) + more


def tell_pairs(tell: Tell, whole: Whole) -> None:
    """Print what two faults take together, what three do, and how likely silence is."""
    assert whole.pairs is not None
    assert whole.odds is not None
    assert whole.triples is not None
    groups = pair_groups(whole.swept, whole.pairs)
    tell.line(
        f"{whole.pairs.tried} pairs tried: {sum(group.count for group in groups)} take a needed "
        f"line that neither takes alone, in {len(groups)} groups"
    )
    for group in groups[:_TOP]:
        tell.line(f"  {_group_told(group)}")
    _rest(tell, len(groups), "groups")
    three = whole.triples.more
    tell.line(
        f"{three.draws} threes drawn: {_percent(three.share)} take more than any two of them "
        f"(95 %: {_percent(three.least)} to {_percent(three.most)})"
    )
    tell.line()
    _tell_odds(tell, whole.odds)


def _group_told(group: PairGroup) -> str:
    lines = some(map(str, group.lines))
    s = "" if len(group.lines) == 1 else "s"
    return f"{_any(group.one)} with {_any(group.other)}: line{s} {lines}"


def _any(faults: Sequence[Fault]) -> str:
    return ("any of " if len(faults) > 1 else "") + some(map(str, faults))


def counted_in(what: str, count: int) -> str:
    """Give a count with its word.

    >>> counted_in("stop", 1), counted_in("stop", 0)
    ('1 stop', '0 stops')
    """
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _percent(share: float) -> str:
    return f"{100 * share:.2g} %"


def _tell_odds(tell: Tell, odds: Odds) -> None:
    hours = odds.assumed.hours
    tell.line(
        f"some needed line is lost for {odds.minutes:.2g} minutes of a {hours:g} h show on "
        "average, by rates that are assumed, not measured (--assume)"
    )
    for cause in odds.causes[:_TOP]:
        names = " with ".join(map(str, cause.faults))
        once = f"once in {1 / cause.chance:,.0f} shows" if cause.chance else "never"
        tell.line(
            f"  {cause.minutes:.2g} minutes by {names}: {counted_in('line', cause.lines)}, {once}"
        )
    _rest(tell, len(odds.causes), "causes")
    tell.line()


def tell_more(tell: Tell, drilled: Sequence[Drilled]) -> None:
    """Print the dips and mistakes that do anything, those that do the same together."""
    alike: dict[str, list[str]] = {}
    for each in drilled:
        told = _counts(each)
        if told:
            alike.setdefault(f"{told}: {_worst_why(each)}", []).append(each.title)
    for told, names in alike.items():
        tell.line(f"{some(names)}: {told}")
    if alike:
        tell.line()


def _counts(drilled: Drilled) -> str:
    parts = []
    for state in reversed(State):
        count = sum(1 for v in drilled.verdicts if v.state is state and v.ends)
        if count:
            words = "silent for a while" if state is State.UNTOUCHED else state.value
            parts.append(f"{count} {words}")
    return ", ".join(parts)


def _worst_why(drilled: Drilled) -> str:
    worst = max(drilled.verdicts, key=lambda verdict: verdict.standing.sort_key())
    return worst.standing.why + gap_told(worst.standing.gap)


def gap_told(gap: Gap) -> str:
    """Give a gap as it stands behind a sentence, "" for none.

    >>> gap_told(Gap(least_s=0.01, most_s=136.0)), gap_told(Gap(least_s=0, most_s=0))
    (', silent for 0.01 to 136 s', '')
    """
    if not gap.most_s:
        return ""
    least = "" if gap.least_s == gap.most_s else f"{gap.least_s:g} to "
    return f", silent for {least}{gap.most_s:g} s"


def tell_drilled(tell: Tell, drilled: Drilled) -> None:
    """Print what some faults do together: lines that stand alike in one row."""
    total = len(drilled.verdicts)
    touched = [verdict for verdict in drilled.verdicts if verdict.ends]
    tell.line(
        f"without {drilled.title}: {_counts(drilled) or 'nothing is touched'}, of {total} lines"
    )
    alike: dict[str, list[str]] = {}
    for verdict in sorted(touched, key=lambda v: -v.state.rank):
        alike.setdefault(_told(verdict), []).append(str(verdict.line))
    for told, lines in alike.items():
        s = "" if len(lines) == 1 else "s"
        tell.line(f"  line{s} {', '.join(lines)}: {told}")


def _told(verdict: Verdict) -> str:
    standing = verdict.standing
    state = "back" if standing.state is State.UNTOUCHED else standing.state.value
    at = f" at {', '.join(verdict.lost)}" if verdict.lost else ""
    by = f" ({standing.carries})" if standing.carries else ""
    act = "; somebody must act" if standing.must_act else ""
    return f"{state}{at}{by}: {standing.why}{gap_told(standing.gap)}{act}"


def drilled_data(drilled: Drilled) -> dict[str, Any]:
    """Give some faults and what they do together as JSON: only lines that are touched."""
    return {
        "faults": [str(fault) for fault in drilled.faults],
        "lines": [_verdict_data(verdict) for verdict in drilled.verdicts if verdict.ends],
    }


def _verdict_data(verdict: Verdict) -> dict[str, Any]:
    standing = verdict.standing
    return {
        "line": str(verdict.line),
        "state": standing.state.value,
        "lost": list(verdict.lost),
        "gap-s": [standing.gap.least_s, standing.gap.most_s],
        "must-act": standing.must_act,
        "carries": standing.carries,
        "why": standing.why,
        "ends": [
            {"end": each.end, "state": each.standing.state.value, "why": each.standing.why}
            for each in verdict.ends
        ],
    }


def whole_data(whole: Whole) -> dict[str, Any]:
    """Give singles, and pairs where they were tried, as JSON."""
    known = whole.swept
    singles = [
        {"faults": [str(fault) for fault in members], "lost": _lost_keys(whole, at)}
        for at, members in enumerate(known.classes.members)
        if whole.lost_lines[at]
    ]
    data: dict[str, Any] = {"tried": whole.tried, "singles": singles}
    if whole.pairs is not None and whole.odds is not None and whole.triples is not None:
        data["pairs-tried"] = whole.pairs.tried
        data["pairs"] = [_group_data(group) for group in pair_groups(known, whole.pairs)]
        more = whole.triples.more
        data["threes"] = {"drawn": more.draws, "share": more.share, "95%": [more.least, more.most]}
        data["odds"] = _odds_data(whole.odds)
    return data


def _lost_keys(whole: Whole, at: int) -> list[str]:
    known = whole.swept
    lines = {line for shape in known.lost_alone[at] for line in known.lines_of[shape]}
    return [str(known.keys[line]) for line in sorted(lines)]


def _group_data(group: PairGroup) -> dict[str, Any]:
    return {
        "one": [str(fault) for fault in group.one],
        "other": [str(fault) for fault in group.other],
        "lines": [str(key) for key in group.lines],
    }


def _odds_data(odds: Odds) -> dict[str, Any]:
    assumed = odds.assumed
    return {
        "minutes": odds.minutes,
        "minutes-by-one": odds.singles_minutes,
        "hours": assumed.hours,
        "assumed-failures-a-year": dict(assumed.failures_a_year),
        "assumed-repair-minutes": dict(assumed.repair_min),
        "causes": [
            {
                "faults": [str(fault) for fault in cause.faults],
                "minutes": cause.minutes,
                "chance": cause.chance,
                "lines": cause.lines,
            }
            for cause in odds.causes[:100]
        ],
    }
