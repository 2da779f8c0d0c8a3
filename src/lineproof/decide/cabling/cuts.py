"""Cuts: around which switches of a net a trunk must lead out, also when a duct is gone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lineproof.decide.cabling.fabric import Link, Trunk, parts


@dataclass(frozen=True, kw_only=True)
class Net:
    """One net's switches, the links that stand, and the trunks that may be laid."""

    name: str
    switches: tuple[str, ...]
    links: tuple[Link, ...]
    trunks: tuple[Trunk, ...]


@dataclass(frozen=True)
class Cut:
    """Switches that a trunk must leave; `failed`: also when this duct or trunk is gone."""

    net: str
    inside: frozenset[str]
    failed: str
    crossing: tuple[str, ...]


def first_cuts(net: Net) -> list[Cut]:
    """Give the cuts that any net must have: those around what grows together cheapest first."""
    found: dict[Cut, None] = {}
    standing = parts(net.switches, net.links)
    inside = {name: part for part in standing for name in part}
    for part in standing:
        found.update(dict.fromkeys(_cuts_around(net, part)))
    for trunk in sorted(net.trunks, key=lambda t: (t.cable.length_m, t.name)):
        one, other = (inside[name] for name in trunk.link.ends)
        if one is not other:
            whole = one | other
            inside.update(dict.fromkeys(whole, whole))
            found.update(dict.fromkeys(_cuts_around(net, whole)))
    return list(found)


def _cuts_around(net: Net, inside: frozenset[str]) -> list[Cut]:
    """Give the cut around these switches, and one for each duct or lone trunk that may fail."""
    over = [t for t in net.trunks if len(inside & set(t.link.ends)) == 1]
    standing = [k for k in net.links if len(inside & set(k.ends)) == 1]
    found = []
    if over and not standing:
        names = tuple(t.name for t in over)
        found.append(Cut(net.name, inside, "", names))
    for failed in dict.fromkeys(_failing(t) for t in over):
        for one in failed:
            found += _cut_failed(net, inside, one, over, standing)
    for duct in dict.fromkeys(d for link in standing for d in link.ducts):
        found += _cut_failed(net, inside, duct, over, standing)
    return list(dict.fromkeys(found))


def _failing(trunk: Trunk) -> tuple[str, ...]:
    """Give what may take a trunk away: its ducts, or where it has none itself."""
    return trunk.link.ducts or (trunk.name,)


def _cut_failed(
    net: Net,
    inside: frozenset[str],
    failed: str,
    over: Sequence[Trunk],
    standing: Sequence[Link],
) -> list[Cut]:
    if any(failed not in link.ducts for link in standing):
        return []
    left = tuple(t.name for t in over if failed not in _failing(t))
    return [Cut(net.name, inside, failed, left)] if left else []


def open_cuts(net: Net, values: Mapping[str, int]) -> list[Cut]:
    """Give the cuts that the chosen trunks leave open, whole or with one thing failed."""
    chosen = [t for t in net.trunks if values[t.name]]
    failing = dict.fromkeys(
        [*(d for k in net.links for d in k.ducts), *(f for t in chosen for f in _failing(t))]
    )
    found: list[Cut] = []
    for failed in ("", *failing):
        left = [t.link for t in chosen if failed not in _failing(t)]
        links = [k for k in net.links if failed not in k.ducts]
        apart = parts(net.switches, [*left, *links])
        if len(apart) == 1:
            continue
        for part in apart:
            over = [t for t in net.trunks if len(part & set(t.link.ends)) == 1]
            names = tuple(t.name for t in over if failed not in _failing(t))
            if names:
                found.append(Cut(net.name, part, failed, names))
    return found
