"""Runs given in the show, read as ports, ducts and cable; what can't be is a slip."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from lineproof.base.names import folded, nearest
from lineproof.base.spot import SpotError
from lineproof.graph.ducts import Way
from lineproof.kit.kinds import Port
from lineproof.plan.network import PortAt
from lineproof.show.model import Run, Show

MULTICORE = "multicore"
#: What people write for a cable, and what it is; "" for fibre of whichever sort reaches.
CABLES: Mapping[str, str] = MappingProxyType(
    {
        "copper": "copper",
        "cat5": "copper",
        "cat5e": "copper",
        "cat6": "copper",
        "cat6a": "copper",
        "cat7": "copper",
        "multi-mode": "multi-mode",
        "multimode": "multi-mode",
        "om2": "multi-mode",
        "om3": "multi-mode",
        "om4": "multi-mode",
        "single-mode": "single-mode",
        "singlemode": "single-mode",
        "os1": "single-mode",
        "os2": "single-mode",
        "fibre": "fibre",
        "fiber": "fibre",
        "multicore": MULTICORE,
    }
)


@dataclass(frozen=True, kw_only=True)
class Slip:
    """One thing in a given run that is not there: `what` is end, port, duct, way or cable.

    `said` is what was written, `near` the name most likely meant.
    """

    what: str
    said: str
    near: str = ""


@dataclass(frozen=True, kw_only=True)
class Given:
    """A run given in the show: its ends (None where a slip stands), cable as we name it."""

    run: Run
    ends: tuple[PortAt, PortAt] | None
    cable: str = ""
    ducts: tuple[str, ...] = ()
    slips: tuple[Slip, ...] = ()


def read_given(show: Show) -> tuple[Given, ...]:
    """Give the runs of the show by name, each with its slips."""
    return tuple(_read(show, run) for run in show.runs.values())


def _read(show: Show, run: Run) -> Given:
    slips: list[Slip] = []
    cable = CABLES.get(folded(run.cable).replace(" ", "-"), "") if run.cable else ""
    if run.cable and not cable:
        slips.append(Slip(what="cable", said=run.cable, near=nearest(run.cable, CABLES) or ""))
    multicore = cable == MULTICORE
    ends = [_end(show, text, slips, multicore=multicore) for text in run.ends]
    ducts = _ducts(show, run, slips)
    first, second = ends
    if first is None or second is None:
        return Given(run=run, ends=None, cable=cable, ducts=ducts, slips=tuple(slips))
    if ducts and way_along(show, place_of(show, first), place_of(show, second), ducts) is None:
        slips.append(Slip(what="way", said=" ".join(ducts)))
        ducts = ()
    return Given(run=run, ends=(first, second), cable=cable, ducts=ducts, slips=tuple(slips))


def _end(show: Show, text: str, slips: list[Slip], *, multicore: bool) -> PortAt | None:
    try:
        port = PortAt.parse(text)
    except SpotError:
        slips.append(Slip(what="end", said=text))
        return None
    units = {folded(name): name for name in show.units}
    places = {folded(name): name for name in show.places} if multicore else {}
    name = units.get(folded(port.unit)) or places.get(folded(port.unit))
    if name is None:
        near = nearest(port.unit, (*show.units, *(show.places if multicore else ())))
        slips.append(Slip(what="end", said=text, near=near or ""))
        return None
    if multicore:
        return PortAt(unit=name)
    found = PortAt(unit=name, number=port.number)
    if not show.units[name].kind.ports or (port.number and port_at(show, found) is None):
        slips.append(Slip(what="port", said=text))
        return None
    return found


def _ducts(show: Show, run: Run, slips: list[Slip]) -> tuple[str, ...]:
    known = {folded(name): name for name in show.ducts}
    found = []
    for word in run.along:
        if (name := known.get(folded(word))) is None:
            slips.append(Slip(what="duct", said=word, near=nearest(word, show.ducts) or ""))
        else:
            found.append(name)
    return tuple(found) if len(found) == len(run.along) else ()


def port_at(show: Show, at: PortAt) -> Port | None:
    """Give the port of a unit by its number, None if it has none such."""
    unit = show.units.get(at.unit)
    ports = unit.kind.ports if unit is not None else ()
    return next((port for port in ports if port.number == at.number), None)


def place_of(show: Show, at: PortAt) -> str:
    """Give the place where an end is: the unit's, or the place itself for a multicore."""
    return show.units[at.unit].place if at.unit in show.units else at.unit


def way_along(show: Show, start: str, end: str, ducts: tuple[str, ...]) -> Way | None:
    """Give the way through these ducts, put in order from `start`; None if they lead not there.

    >>> from lineproof.kit.load import load_kit
    >>> from lineproof.show.model import Duct
    >>> ducts = [
    ...     Duct(name="d", between=("a", "b"), length_m=5),
    ...     Duct(name="e", between=("b", "c"), length_m=7),
    ... ]
    >>> show = Show(title="", rate_hz=48000, kit=load_kit(), ducts={d.name: d for d in ducts})
    >>> way_along(show, "a", "c", ("e", "d")).ducts
    ('d', 'e')
    """
    left = [show.ducts[name] for name in ducts if name in show.ducts]
    if len(left) != len(ducts):
        return None
    length = sum(round(duct.length_m * 1000) for duct in left)
    order: list[str] = []
    place = start
    while left:
        step = next((duct for duct in left if place in duct.between), None)
        if step is None:
            return None
        left.remove(step)
        order.append(step.name)
        place = step.between[1] if step.between[0] == place else step.between[0]
    return Way(ducts=tuple(order), length_mm=length) if place == end else None
