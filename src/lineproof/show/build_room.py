"""From the tree to places, ducts, circuits and whatever else a room is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from lineproof.base.finding import Finding
from lineproof.base.names import natural
from lineproof.show import rules, words
from lineproof.show.fields import MOST_ENTRIES, Fields, Names, is_words, said, words_in
from lineproof.show.model import Act, Air, Circuit, Duct, Place, Tie, Weights
from lineproof.show.tree import Entries, Node, Text
from lineproof.show.words import Word

T = TypeVar("T")

#: Names that one message repeats at most.
_SHOWN = 20


def by_name(things: list[T], name: Callable[[T], str]) -> dict[str, T]:
    """Give the things by name, in the order people sort names."""
    return {name(thing): thing for thing in sorted(things, key=lambda x: natural(name(x)))}


def records(
    top: Fields, key: str, section: Mapping[str, Word], names: Names, what: str
) -> list[tuple[str, Text, Fields]]:
    """Give the named records under `key`: name, its text, its fields. Findings go to `top`'s."""
    found: list[tuple[str, Text, Fields]] = []
    for text, node in top.entries(key):
        name = names.add(text, what)
        if name is None:
            continue
        if not isinstance(node, Entries):
            message = f"{what} {name!r} needs keys with values, as in {{…: …}}"
            top.findings.append(rules.WRONG_VALUE.finding(what=message, where=node.where))
            continue
        fields = Fields(node, section, top.findings, title=f"{what} {name!r}")
        found.append((name, text, fields))
    return found


def build_air(top: Fields) -> Air | None:
    """Give the air of the day, or None."""
    node = top.node("air")
    if not isinstance(node, Entries):
        return None
    fields = Fields(node, words.AIR, top.findings, title="air")
    temperature, humidity = fields.quantity("temperature"), fields.quantity("humidity")
    if temperature is None or humidity is None:
        return None
    return Air(temperature_c=temperature, humidity_percent=humidity)


def build_weights(top: Fields) -> Weights:
    """Give the planner's weights, common practice where the show says nothing."""
    node = top.node("weights")
    if not isinstance(node, Entries):
        return Weights()
    fields = Fields(node, words.WEIGHTS, top.findings, title="weights")
    usual = Weights()

    def figure_of(key: str, default: float) -> float:
        figure = fields.quantity(key)
        return default if figure is None else figure

    return Weights(
        group_m=figure_of("group", usual.group_m),
        move_m=figure_of("move", usual.move_m),
        off_number_m=figure_of("off-number", usual.off_number_m),
        spread_within_m=figure_of("spread-within", usual.spread_within_m),
        drop_m=figure_of("drop", usual.drop_m),
        slack_percent=figure_of("slack", usual.slack_percent),
    )


def build_places(top: Fields, names: Names) -> dict[str, Place]:
    """Give the places by name."""
    places = [
        Place(
            name=name,
            at_m=f.position("at"),
            building=f.text("building"),
            label=f.text("label"),
            where=text.where,
        )
        for name, text, f in records(top, "places", words.PLACE, names, "place")
    ]
    return by_name(places, lambda p: p.name)


def two_places(fields: Fields, names: Names, *whats: str) -> tuple[str, str] | None:
    """Give the two places of `between`, or None with a finding."""
    ends = fields.names("between")
    if fields.has("between") and len(ends) != 2:
        problem = f"{len(ends)} names stand here, not two"
        fields.wrong("between", fields.nodes["between"], problem)
        return None
    found = [names.look_up(e, *whats, by=fields.title) for e in ends]
    if len(found) == 2 and found[0] is not None and found[0] == found[1]:
        fields.wrong("between", fields.nodes["between"], f"{found[0]!r} stands here twice")
        return None
    if len(found) == 2 and found[0] is not None and found[1] is not None:
        return found[0], found[1]
    return None


def build_ducts(top: Fields, names: Names) -> dict[str, Duct]:
    """Give the ducts by name; one that can't be read is left out."""
    ducts = []
    for name, text, fields in records(top, "ducts", words.DUCT, Names(top.findings), "duct"):
        between, length = two_places(fields, names, "place"), fields.quantity("length")
        if between is not None and length is not None:
            duct = Duct(
                name=name,
                between=between,
                length_m=length,
                installed=bool(fields.yes_no("installed")),
                label=fields.text("label"),
                where=text.where,
            )
            ducts.append(duct)
    return by_name(ducts, lambda d: d.name)


def build_circuits(top: Fields, findings: list[Finding]) -> dict[str, Circuit]:
    """Give the circuits by name (a name space of their own); feeds that go round are found."""
    names = Names(findings)
    read = records(top, "circuits", words.CIRCUIT, names, "circuit")
    circuits = {}
    for name, text, fields in read:
        fed_by = ""
        if fields.has("fed-by"):
            (word, *_) = fields.names("fed-by") or (text,)
            fed_by = names.look_up(word, "circuit", by=fields.title) or ""
        circuits[name] = Circuit(
            name=name,
            fed_by=fed_by,
            supply_v=fields.quantity("supply"),
            limit_a=fields.quantity("limit"),
            phase=fields.text("phase"),
            label=fields.text("label"),
            where=text.where,
        )
    _find_circles(circuits, findings)
    return by_name(list(circuits.values()), lambda c: c.name)


def _find_circles(circuits: Mapping[str, Circuit], findings: list[Finding]) -> None:
    walked: set[str] = set()
    for start in circuits:
        # In the order walked, so that a circle reads as it feeds.
        way: dict[str, None] = {}
        name = start
        while name in circuits and name not in walked:
            walked.add(name)
            way[name] = None
            name = circuits[name].fed_by
        if name in way:
            chain = list(way)[list(way).index(name) :]
            shown = [*chain, name] if len(chain) <= _SHOWN else [*chain[:_SHOWN], "…", name]
            what = "these circuits feed each other in a circle: " + " from ".join(shown)
            where = tuple(circuits[c].where for c in chain[:_SHOWN])
            findings.append(rules.CIRCLE.finding(what=what, where=where, of=tuple(chain)))


def build_ties(top: Fields, names: Names) -> dict[str, Tie]:
    """Give the ties by name."""
    ties = []
    for name, text, fields in records(top, "ties", words.TIE, Names(top.findings), "tie"):
        between, count = two_places(fields, names, "place"), fields.count("count")
        if between is not None and count is not None:
            label = fields.text("label")
            ties.append(Tie(name=name, between=between, count=count, label=label, where=text.where))
    return by_name(ties, lambda t: t.name)


def build_acts(top: Fields) -> tuple[Act, ...]:
    """Give the acts in running order."""
    return tuple(
        Act(
            name=name,
            stage=f.text("stage"),
            starts=f.text("starts"),
            ends=f.text("ends"),
            build=f.choice("build"),
            content=f.choice("content"),
            label=f.text("label"),
            where=text.where,
        )
        for name, text, f in records(top, "acts", words.ACT, Names(top.findings), "act")
    )


def build_groups(top: Fields, key: str, names: Names, what: str) -> dict[str, tuple[str, ...]]:
    """Give zones, lists or arrangements: a name and the words it stands for, as written."""
    groups = {}
    for text, node in top.entries(key):
        name = names.add(text, what)
        if name is not None:
            groups[name] = plain_words(node, f"{what} {name!r}", top.findings)
    return by_name_of(groups)


def plain_words(node: Node, title: str, findings: list[Finding]) -> tuple[str, ...]:
    """Give a word, or the words of a plain list; anything else is found under `title`."""
    found = words_in(node)
    if not found or not is_words(node):
        what = f"{title} holds {said(node)}; expected names with blanks or commas between"
        findings.append(rules.WRONG_VALUE.finding(what=what, where=node.where))
        return ()
    if len(found) > MOST_ENTRIES:
        what = f"{title} holds {len(found):,} words; at most {MOST_ENTRIES:,} are read"
        findings.append(rules.TOO_LARGE.finding(what=what, where=node.where))
    return tuple(word.value for word in found[:MOST_ENTRIES])


def by_name_of(groups: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Give the same groups in the order people sort names."""
    return {name: groups[name] for name in sorted(groups, key=natural)}


def build_addresses(top: Fields) -> dict[str, str]:
    """Give the address ranges, whose meaning comes later, as written."""
    return {
        key.value: " ".join(plain_words(node, f"address range {key.value!r}", top.findings))
        for key, node in top.entries("addresses")
    }
