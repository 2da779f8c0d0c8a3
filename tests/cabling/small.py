"""Small drawn shows, and every way of cabling them, tried one by one with a library for graphs."""

import itertools
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass

import networkx as nx

from lineproof.kit.kinds import Does
from lineproof.show.model import Show
from lineproof.show.read import read_files

LINES = "number,name,from,source,to\n1,Voice,p-0,dynamic mic,u-0\n"
Score = tuple[int, int, int, int, int]
Use = tuple[int, ...]


def show_of(text: str) -> Show:
    """Read a show; no stop may stand in it."""
    reading = read_files({"show.yaml": text, "lines.csv": LINES})
    assert reading.show is not None
    assert not reading.stops, reading.findings
    return reading.show


def draw(seed: int) -> str:
    """Give the text of a small show: three or four places, ducts, switches with few ports."""
    chance = random.Random(seed)
    two = chance.random() < 0.5
    places = [f"p-{n}" for n in range(chance.choice((3, 4)))]
    pairs = list(itertools.combinations(places, 2))
    ducts = [(places[n], places[chance.randrange(n)]) for n in range(1, len(places))]
    ducts += chance.sample(pairs, chance.randrange(1, 3))
    rows = ["title: drawn", "rate: 48 kHz", f"nets: {'two' if two else 'one'}", "places:"]
    rows += [f"  {p}: {{at: [{100 * n}, 0, 0]}}" for n, p in enumerate(places)]
    rows.append("ducts:")
    for n, (a, b) in enumerate(ducts):
        rows.append(f"  d-{n}: {{between: [{a}, {b}], length: {chance.randrange(4, 40)} m}}")
    rows += ["circuits:", "  c-0: {supply: 230 V}", "  c-1: {fed-by: c-0}", "  c-2: {fed-by: c-0}"]
    rows.append("kinds:")
    for ports in (3, 4, 5):
        rows += [f"  sw-{ports}:", "    like: switch-8", "    ports:"]
        rows.append(f"      - {{count: {ports}, medium: copper, speed-mbit: 1000}}")
    rows.append("units:")
    for n in range(chance.choice((2, 3))):
        rows.append(f"  u-{n}: {{kind: mixer-32, place: {chance.choice(places)}, circuit: c-0}}")
    for net in ("a", "b") if two else ("a",):
        for n in range(2 if two else 3):
            kind, place = f"sw-{chance.choice((3, 4, 5))}", chance.choice(places)
            rack = f", rack: r-{chance.randrange(2)}" if chance.random() < 0.5 else ""
            circuit = chance.choice(("c-1", "c-2"))
            rows.append(
                f"  s-{net}-{n}: {{kind: {kind}, place: {place}, circuit: {circuit}, "
                f"net: {net}{rack}}}"
            )
    rows.append("lines: lines.csv")
    return "\n".join(rows) + "\n"


@dataclass(frozen=True, kw_only=True)
class Cord:
    """A possible run: what it joins, in which ducts, how long."""

    ends: tuple[str, str]
    ducts: tuple[str, ...]
    metres: int


def cords(show: Show, one: str, other: str) -> list[Cord]:
    """Give every simple way of a run between two units, copper within 75 m."""
    graph = nx.MultiGraph()
    graph.add_nodes_from(show.places)
    for duct in show.ducts.values():
        graph.add_edge(*duct.between, key=duct.name, metres=duct.length_m)
    start, end = show.units[one].place, show.units[other].place
    paths = [[]] if start == end else list(nx.all_simple_edge_paths(graph, start, end))
    found = []
    for path in paths:
        way = sum(show.ducts[key].length_m for _, _, key in path)
        # 3 m at each end and a tenth more, to whole metres; in thousandths, to be exact.
        metres = math.ceil(round((way + 6) * 1100) / 1000)
        if metres <= 75:
            ducts = tuple(key for _, _, key in path)
            found.append(Cord(ends=(one, other), ducts=ducts, metres=metres))
    return found


def best_by_trying(show: Show) -> Score:
    """Give the best there is: left without, no second way, shared, rescue ports short, metres."""
    switches = [u.name for u in show.units.values() if u.kind.does is Does.SWITCH]
    trunks = _trunk_sets(show, switches)
    hung = _hangings(show, switches)
    ports = [len(show.units[name].kind.ports) for name in switches]
    best: Score | None = None
    for (use, (left, second, metres)), (more, (missing, shared, length)) in itertools.product(
        trunks.items(), hung.items()
    ):
        free = [p - a - b for p, a, b in zip(ports, use, more, strict=True)]
        if min(free) < 0:
            continue
        short = sum(max(0, 2 - f) for f in free)
        score = (left + missing, second, shared, short, metres + length)
        best = score if best is None else min(best, score)
    assert best is not None
    return best


def _trunk_sets(show: Show, switches: list[str]) -> dict[Use, tuple[int, int, int]]:
    found: dict[Use, tuple[int, int, int]] = {(0,) * len(switches): (0, 0, 0)}
    for net in ("a", "b"):
        names = [s for s in switches if show.units[s].net == net]
        if not names:
            continue
        own = _sets_of(show, names, switches)
        joined: dict[Use, tuple[int, int, int]] = {}
        for (use, score), (more, other) in itertools.product(found.items(), own.items()):
            key = tuple(a + b for a, b in zip(use, more, strict=True))
            total = tuple(a + b for a, b in zip(score, other, strict=True))
            joined[key] = min(joined.get(key, total), total)  # type: ignore[assignment]
        found = joined
    return found


def _sets_of(show: Show, names: list[str], switches: list[str]) -> dict[Use, tuple[int, int, int]]:
    pool: list[Cord] = []
    for one, other in itertools.combinations(names, 2):
        for cord in cords(show, one, other):
            pool += [cord] if cord.ducts else [cord, cord]
    everything = list(enumerate(pool))
    least = _parts(names, pool)
    found: dict[Use, tuple[int, int, int]] = {}
    for chosen in _subsets(everything):
        cables = [cord for _, cord in chosen]
        left = _parts(names, cables) - least
        second = 0
        for duct in show.ducts:
            rest = [c for c in cables if duct not in c.ducts]
            could = [c for c in pool if duct not in c.ducts]
            second += _parts(names, rest) > _parts(names, could)
        for at, cord in chosen:
            if not cord.ducts:
                rest = [c for n, c in chosen if n != at]
                could = [c for n, c in everything if n != at]
                second += _parts(names, rest) > _parts(names, could)
        use = tuple(sum(name in c.ends for c in cables) for name in switches)
        score = (left, second, sum(c.metres for c in cables))
        found[use] = min(found.get(use, score), score)
    return found


def _subsets(pool: list[tuple[int, Cord]]) -> Iterator[list[tuple[int, Cord]]]:
    # More than five trunks on three switches are never the shortest.
    for size in range(min(5, len(pool)) + 1):
        for chosen in itertools.combinations(pool, size):
            yield list(chosen)


def _parts(names: list[str], cables: list[Cord]) -> int:
    graph = nx.Graph()
    graph.add_nodes_from(names)
    graph.add_edges_from(c.ends for c in cables)
    return int(nx.number_connected_components(graph))


def _hangings(show: Show, switches: list[str]) -> dict[Use, tuple[int, int, int]]:
    units = [u.name for u in show.units.values() if u.kind.does is not Does.SWITCH]
    found: dict[Use, tuple[int, int, int]] = {(0,) * len(switches): (0, 0, 0)}
    for unit in units:
        joined: dict[Use, tuple[int, int, int]] = {}
        for (use, score), (more, other) in itertools.product(
            found.items(), _hangings_of(show, unit, switches).items()
        ):
            key = tuple(a + b for a, b in zip(use, more, strict=True))
            total = tuple(a + b for a, b in zip(score, other, strict=True))
            joined[key] = min(joined.get(key, total), total)  # type: ignore[assignment]
        found = joined
    return found


def _hangings_of(show: Show, unit: str, switches: list[str]) -> dict[Use, tuple[int, int, int]]:
    nets = ("a", "b") if show.nets == "two" else ("a",)
    sides: list[list[Cord | None]] = []
    for net in nets:
        side: list[Cord | None] = [None]
        for switch in switches:
            if show.units[switch].net == net:
                side += cords(show, unit, switch)
        sides.append(side)
    found: dict[Use, tuple[int, int, int]] = {}
    for chosen in itertools.product(*sides):
        cables = [c for c in chosen if c is not None]
        use = tuple(sum(name in c.ends for c in cables) for name in switches)
        score = (len(nets) - len(cables), _shared(show, cables), sum(c.metres for c in cables))
        found[use] = min(found.get(use, score), score)
    return found


def _shared(show: Show, cables: list[Cord]) -> int:
    if len(cables) < 2:
        return 0
    one, other = (show.units[c.ends[1]] for c in cables)
    ducts = len(set(cables[0].ducts) & set(cables[1].ducts))
    # Circuits c-1 and c-2 hang on c-0, which takes the unit as well.
    return ducts + (one.rack == other.rack != "") + (one.circuits == other.circuits)
