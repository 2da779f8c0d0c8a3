"""A show under a new name: what `rename` must make of it, worked out on its values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from lineproof.base.names import natural
from lineproof.base.part import part_with
from lineproof.show.model import Accepted, End, Line, Pin, Run, Show, Target, Unit
from lineproof.show.naming import Naming, Renamer, Role

T = TypeVar("T")


def renamed_show(show: Show, naming: Naming) -> Show:
    """Give the show as it reads after the rename, in its order again.

    Raises Unclear where a bare number may be the line, or would be another afterwards.
    """
    renamer = Renamer.of(naming, (line.key for line in show.lines))
    return _Show(naming, renamer).show(show)


class _Show:
    def __init__(self, naming: Naming, renamer: Renamer) -> None:
        self.naming = naming
        self.replaced = renamer.replaced
        self.thing = naming.what in ("unit", "place")

    def show(self, show: Show) -> Show:
        lines = [self.line(line) for line in show.lines]
        pins = [self.pin(pin) for pin in show.pins]
        acts = [replace(a, name=self.act(a.name)) for a in show.acts]
        return replace(
            show,
            places=self.by_name({k: replace(p, name=self.name(k)) for k, p in show.places.items()}),
            ducts={k: replace(d, between=self.two(d.between)) for k, d in show.ducts.items()},
            ties={k: replace(t, between=self.two(t.between)) for k, t in show.ties.items()},
            units=self.by_name({k: self.unit(u) for k, u in show.units.items()}),
            runs={k: self.run(r) for k, r in show.runs.items()},
            zones=self.groups(show.zones, Role.NAMES),
            lists=self.groups(show.lists, Role.NAMES),
            arrangements=self.groups(show.arrangements, Role.ANY),
            acts=tuple(acts),
            lines=tuple(sorted(lines, key=lambda x: x.key.sort_key())),
            pins=tuple(sorted(pins, key=lambda p: (p.line.sort_key(), p.spot.sort_key()))),
            accepted=tuple(self.taken_on(a) for a in show.accepted),
        )

    # -- words ---------------------------------------------------------------------------------

    def name(self, name: str) -> str:
        return self.naming.name(name) if self.thing else name

    def act(self, name: str) -> str:
        return self.naming.name(name) if self.naming.what == "act" else name

    def two(self, names: tuple[str, str]) -> tuple[str, str]:
        return self.name(names[0]), self.name(names[1])

    def texts(self, texts: tuple[str, ...], role: Role) -> tuple[str, ...]:
        return tuple(self.replaced(text, role) for text in texts)

    def groups(
        self, groups: Mapping[str, tuple[str, ...]], role: Role
    ) -> dict[str, tuple[str, ...]]:
        return {name: self.texts(words, role) for name, words in groups.items()}

    def by_name(self, things: Mapping[str, T]) -> dict[str, T]:
        named = {self.name(name): thing for name, thing in things.items()}
        return {name: named[name] for name in sorted(named, key=natural)}

    # -- things --------------------------------------------------------------------------------

    def unit(self, unit: Unit) -> Unit:
        return replace(
            unit,
            name=self.name(unit.name),
            place=self.name(unit.place),
            here=self.texts(unit.here, Role.ACTS),
            standby=self.name(unit.standby),
            covers=self.texts(unit.covers, Role.NAMES),
            by=self.replaced(unit.by, Role.BY),
            sockets_of=self.replaced(unit.sockets_of, Role.NAMES),
            muted_by=self.replaced(unit.muted_by, Role.ONE),
        )

    def run(self, run: Run) -> Run:
        first, second = self.texts(run.ends, Role.NAMES)
        return replace(run, ends=(first, second))

    def pin(self, pin: Pin) -> Pin:
        spot = replace(pin.spot, unit=self.name(pin.spot.unit))
        part = part_with(pin.part, self.name) if pin.part else ""
        return replace(pin, line=self.naming.key(pin.line), spot=spot, part=part)

    def taken_on(self, accepted: Accepted) -> Accepted:
        return replace(accepted, of=self.texts(accepted.of, Role.ANY))

    def line(self, line: Line) -> Line:
        key, act = self.naming.key(line.key), line.key.act
        nameless = line.name == f"line {line.key.number}"
        return replace(
            line,
            key=key,
            name=f"line {key.number}" if nameless else line.name,
            starts=tuple(self.target(t) for t in line.starts),
            ends=tuple(self.end(end) for end in line.ends),
            pair=self.naming.key(line.pair) if line.pair else None,
            minus=self.texts(line.minus, Role.OTHERS),
            contains=self.texts(line.contains, Role.OTHERS),
            never=self.texts(line.never, Role.NAMES),
            standby=self.replaced(line.standby, Role.OTHER, act=act),
            back_to=self.replaced(line.back_to, Role.OTHER, act=act),
            by=self.replaced(line.by, Role.BY),
            also=self.texts(line.also, Role.NAMES),
        )

    def target(self, target: Target) -> Target:
        return replace(target, name=self.name(target.name))

    def end(self, end: End) -> End:
        members = tuple(self.target(t) for t in end.members)
        return replace(end, members=members, part_of=self.replaced(end.part_of, Role.NAMES))
