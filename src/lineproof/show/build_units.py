"""From the tree, or a table of units, to units of known kinds at known places."""

from __future__ import annotations

from collections.abc import Mapping

from lineproof.base.finding import Finding
from lineproof.kit.kinds import Does, Kind, Kit
from lineproof.show import rules, words
from lineproof.show.build_links import acts_named, changes_over, covered
from lineproof.show.build_rates import own_rate
from lineproof.show.build_room import by_name
from lineproof.show.fields import Fields, Names
from lineproof.show.found import near_word
from lineproof.show.model import Act, Circuit, Unit
from lineproof.show.tree import Entries, Text


def build_units(
    found: list[tuple[Text, Entries, Mapping[str, str]]],
    names: Names,
    kit: Kit,
    circuits: Mapping[str, Circuit],
    acts: tuple[Act, ...],
    findings: list[Finding],
) -> dict[str, Unit]:
    """Give the units by name; `found` holds (name, its record, unknown columns of its table)."""
    # All names first, so that a standby may be named before it is described.
    named = [
        (name, text, entries, extra)
        for text, entries, extra in found
        if (name := names.add(text, "unit"))
    ]
    units = []
    for name, text, entries, extra in named:
        fields = Fields(entries, words.UNIT, findings, title=f"unit {name!r}", free=True)
        unit = _unit(name, text, fields, names, kit, circuits, acts, extra)
        if unit is not None:
            units.append(unit)
    return by_name(units, lambda u: u.name)


def _unit(
    name: str,
    text: Text,
    fields: Fields,
    names: Names,
    kit: Kit,
    circuits: Mapping[str, Circuit],
    acts: tuple[Act, ...],
    extra: Mapping[str, str],
) -> Unit | None:
    kind = _kind(fields, kit)
    place = _name(fields, "place", names, "place")
    rate = fields.quantity("rate")
    unit = Unit(
        name=name,
        kind=kind or _NO_KIND,
        place=place,
        number=fields.count("number"),
        circuits=_circuits(fields, circuits),
        label=fields.text("label"),
        net=fields.choice("net"),
        ports=fields.choice("ports"),
        rate_hz=round(rate) if rate is not None else None,
        rack=fields.name("rack"),
        here=acts_named(fields, "here", acts),
        theirs=bool(fields.yes_no("theirs")),
        muted_by=fields.text("muted-by"),
        mac=fields.text("mac"),
        meeting=fields.text("meeting"),
        standby=_name(fields, "standby", names, "unit"),
        covers=covered(fields, names, kit),
        by=changes_over(fields, names),
        power=fields.choice("power"),
        sockets_of=fields.text("sockets-of"),
        note=fields.text("note"),
        extra={**fields.extra, **extra},
        where=text.where,
    )
    return own_rate(fields, unit) if kind is not None and place else None


#: Stands in for a kind nobody knows, so that the unit's other mistakes are told as well.
_NO_KIND = Kind(name="", label="", does=Does.BOX)


def _kind(fields: Fields, kit: Kit) -> Kind | None:
    word = fields.text("kind")
    if not word:
        return None
    by_fold = {name.casefold(): kind for name, kind in kit.kinds.items()}
    kind = by_fold.get(word.casefold())
    if kind is None:
        near = near_word(fields.findings, word, kit.kinds)
        hint = f"; did you mean {near!r}?" if near else ""
        what = f"{fields.title} is of kind {word!r}, which the catalogue doesn't have{hint}"
        finding = rules.UNKNOWN_KIND.finding(what=what, where=fields.at("kind"), of=(word,))
        fields.findings.append(finding)
    return kind


def _name(fields: Fields, key: str, names: Names, what: str) -> str:
    """Give the one known name under `key`, "" where nothing or nothing known is said."""
    found = fields.names(key)
    if not found:
        return ""
    if len(found) > 1:
        fields.wrong(key, fields.nodes[key], f"{len(found)} names stand here, not one")
        return ""
    return names.look_up(found[0], what, by=f"{key} of {fields.title}") or ""


def _circuits(fields: Fields, circuits: Mapping[str, Circuit]) -> tuple[str, ...]:
    by_fold = {name.casefold(): name for name in circuits}
    found = []
    for word in fields.names("circuit"):
        bare = word.value.removeprefix("circuit:")
        name = by_fold.get(bare.casefold())
        if name is None:
            near = near_word(fields.findings, bare, circuits)
            hint = f"; did you mean {near!r}?" if near else ""
            what = f"circuit of {fields.title} names {bare!r}, which is no circuit{hint}"
            finding = rules.UNKNOWN_NAME.finding(what=what, where=word.where, of=(bare,))
            fields.findings.append(finding)
        else:
            found.append(name)
    return tuple(found)
