"""Into which sockets a lead may go: what fits, what is pinned, and where it was before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lineproof.base.names import folded, natural
from lineproof.base.part import ALSO
from lineproof.base.spot import LineKey, Side, Spot
from lineproof.decide.problem import ByTie, NoWay, Plug
from lineproof.kit.kinds import Does, Socket
from lineproof.reckon.leads import Leads
from lineproof.show.model import Pin, Show, Target, Unit
from lineproof.show.sockets_of import Multicores

#: What takes signals from outside onto the network, and brings them out again.
TAKES_IN = (Does.BOX, Does.MIXER, Does.PROCESSOR)
BRINGS_OUT = (Does.BOX, Does.MIXER, Does.PROCESSOR, Does.AMPLIFIER)


class Options:
    """The sockets of one show, and what its pins say of them."""

    def __init__(
        self, show: Show, cores: Multicores, pins: Mapping[LineKey, tuple[Pin, ...]]
    ) -> None:
        self.show = show
        self.cores = cores
        self.pins = pins
        self.leads = Leads(show)
        self.no_ways: list[NoWay] = []
        self._offered: dict[tuple[str, Side], tuple[Socket, ...]] = {}
        #: Pins of no end in particular that a lead of the line has already taken.
        self.used: set[tuple[LineKey, Spot]] = set()

    def whole(
        self,
        plug: Plug,
        only: list[str],
        target: Target,
        before: Mapping[str, tuple[Spot, ...]],
    ) -> Plug:
        """Give the plug with every unit that could take it, its pin and where it was before."""
        pinned = self._pinned(plug, target, only)
        names = [pinned.unit] if pinned else only or self._candidates(plug)
        lengths: dict[str, int] = {}
        ties: dict[str, ByTie] = {}
        for name in sorted(self._fronts(names), key=natural):
            if name == plug.beyond or not any(map(plug.fits, self._sockets(name, plug.side))):
                continue
            length, tie = self._length(plug, self.show.units[name])
            if length is not None:
                lengths[name] = length
                ties.update({name: tie} if tie else {})
        if pinned and not lengths:
            lengths = {pinned.unit: self._length(plug, self.show.units[pinned.unit])[0] or 0}
        if not lengths and not plug.may_go:
            self.no_ways.append(NoWay(line=plug.line, part=plug.part, why=self._why_none(plug)))
        return replace(
            plug,
            lines=(plug.line,),
            acts=frozenset({plug.line.act}),
            options=lengths,
            ties=ties,
            pinned=pinned,
            kept=None if pinned else self._kept(plug, lengths, before),
        )

    def split(self, line: LineKey, spot: Spot, place: str) -> Plug:
        """Give the plug that brings a microphone to a further socket, as the list says."""
        front = self.cores.out_front.get(spot, spot)
        plug = Plug(line=line, part=f"{ALSO}{spot}", side=Side.IN, place=place)
        length = self._length(plug, self.show.units[front.unit])[0] or 0
        return replace(
            plug,
            lines=(line,),
            acts=frozenset({line.act}),
            options={front.unit: length},
            pinned=front,
        )

    # -- where -------------------------------------------------------------------------------

    def _candidates(self, plug: Plug) -> list[str]:
        takes = TAKES_IN if plug.side is Side.IN else BRINGS_OUT
        channel = Side.SEND if plug.side is Side.IN else Side.RECEIVE
        return [
            name
            for name, unit in self.show.units.items()
            if unit.kind.does in takes
            and self.show.count(unit, channel)
            and not (unit.theirs or unit.covers)
            and self._is_there(unit, plug.line.act)
        ]

    def _is_there(self, unit: Unit, act: str) -> bool:
        """Say whether the unit is there whenever the line is needed."""
        acts = {act} if act else {a.name for a in self.show.acts}
        return not unit.here or acts <= set(unit.here)

    def _fronts(self, names: list[str]) -> list[str]:
        """Give the units with the drop boxes in front of them."""
        drops = [drop for drop, host in self.cores.hosts.items() if host in names]
        return list(dict.fromkeys((*names, *drops)))

    def _sockets(self, front: str, side: Side) -> tuple[Socket, ...]:
        """Give the sockets a lead may be plugged into there; behind a drop box those it brings.

        Alike ones once: whether a lead fits is asked of every unit for every lead.
        """
        if (front, side) not in self._offered:
            each = self.cores.offered(self.show.units, front, side)
            found = [replace(socket, number=1) for socket in each]
            self._offered[front, side] = tuple(dict.fromkeys(found))
        return self._offered[front, side]

    def _length(self, plug: Plug, unit: Unit) -> tuple[int | None, ByTie | None]:
        """Give the lead in millimetres, and the tie that it goes over where that is nearer."""
        direct = self.leads.length_mm(plug.place, unit.place)
        best: tuple[int, str] | None = None
        for tie in self.show.ties.values():
            metres = self.leads.over_m(tie, plug.place, unit.place)
            length = None if metres is None else round(metres * 1000)
            if length is not None and (best is None or length < best[0]):
                best = (length, tie.name)
        if best is None or (direct is not None and direct <= best[0]):
            return direct, None
        return best[0], ByTie(tie=best[1], without_mm=direct)

    # -- pins and what was -------------------------------------------------------------------

    def _pinned(self, plug: Plug, target: Target, only: list[str]) -> Spot | None:
        if target.side is plug.side and target.numbers and len(only) == 1:
            return self._front(Spot(unit=only[0], side=plug.side, number=target.numbers[0]))
        pins = [p for p in self.pins.get(plug.line, ()) if p.spot.side is plug.side]
        # A pin of the far unit's own socket is not one of the socket it is plugged into.
        pins = [p for p in pins if p.spot.unit != plug.beyond]
        mine = [p.spot for p in pins if p.part and folded(p.part) == folded(plug.part)]
        loose = [p.spot for p in pins if not p.part and (plug.line, p.spot) not in self.used]
        if plug.side is Side.OUT:
            own = {start.name for start in self._starts(plug.line)}
            loose = [s for s in loose if s.unit not in own]
            loose = [s for s in loose if s.unit in only] or loose
        found = next(iter(mine or loose), None)
        if found is None:
            return None
        if not mine:
            self.used.add((plug.line, found))
        return self._front(found)

    def _starts(self, key: LineKey) -> tuple[Target, ...]:
        line = self.show.line(key)
        return line.starts if line is not None else ()

    def _front(self, spot: Spot) -> Spot:
        return self.cores.out_front.get(spot, spot)

    def _kept(
        self, plug: Plug, lengths: Mapping[str, int], before: Mapping[str, tuple[Spot, ...]]
    ) -> Spot | None:
        """Give the socket the plug had, if it is still possible."""
        for held in before.get(plug.part, ()):
            spot = self._front(held)
            if spot.side is plug.side and spot.unit != plug.beyond and spot.unit in lengths:
                sockets = self.show.units[spot.unit].kind.sockets_on(plug.side)
                real = self.cores.real(spot)
                kind = self.show.units[real.unit].kind
                if spot.number <= len(sockets) and plug.fits(
                    kind.sockets_on(plug.side)[real.number - 1]
                ):
                    return spot
        return None

    def _why_none(self, plug: Plug) -> str:
        what = "input" if plug.side is Side.IN else "output"
        phantom = " with phantom" if plug.phantom else ""
        socket = f"{plug.signal.value} {what}{phantom}"
        return f"no unit has a {socket} that a lead from {plug.place} reaches"
