"""A kind from the table that describes it, and the table from a kind."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, replace
from typing import Any

from lineproof.base.names import folded
from lineproof.base.spot import Side
from lineproof.kit.kinds import ClockFacts, Does, Kind, Kit, Numbering, Port, Signal, Socket
from lineproof.kit.read import (
    Mistake,
    Nested,
    Path,
    perhaps,
    read_list,
    read_table,
    shown,
    way_down,
)
from lineproof.kit.word import Holds, Word
from lineproof.kit.words import (
    CLOCK_WORDS,
    GROUPS,
    KIND_WORDS,
    LIKE,
    MOST,
    NUMBERING_WORDS,
    POE_DEVICE_W,
    PORT_WORDS,
    SOCKET_WORDS,
)


def kind_from_table(
    name: str, table: object, base: Kind | None = None
) -> tuple[Kind | None, list[Mistake]]:
    """Give the kind that `table` describes, and every mistake in it.

    Each key given replaces that of `base` as a whole; what is left out is the base's. A key (or a
    group of sockets or ports) with a mistake is left out too, so that one slip doesn't take the
    kind away from all its units. None only when there is not enough for a kind: no table, or no
    `does` and no base.

    >>> kind, mistakes = kind_from_table("siren", {"does": "alarm", "suplies": 2})
    >>> kind.supplies, str(mistakes[0])
    (1, "unknown key 'suplies'; expected a key of a kind, perhaps 'supplies'")
    """
    mistakes: list[Mistake] = []
    if isinstance(table, Mapping):
        table = {key: value for key, value in table.items() if key != LIKE}
    read = read_table(
        table,
        KIND_WORDS,
        (),
        mistakes,
        about="a kind",
        nested=_NESTED,
        needed=base is None and isinstance(table, Mapping),
    )
    if "does" in read:
        read["does"] = Does(read["does"])
    kind = _made(name, read, base) if isinstance(table, Mapping) else None
    if kind is not None:
        mistakes += _clashes(kind)
    return kind, mistakes


def _made(name: str, read: dict[str, Any], base: Kind | None) -> Kind | None:
    if base is not None:
        return replace(base, name=name, **read)
    if "does" not in read:
        return None
    return Kind(name=name, **{"label": name, **read})


def kind_for_show(kit: Kit, name: str, table: object) -> tuple[Kind | None, list[Mistake]]:
    """Give the kind that a show adds or changes, and every mistake.

    It starts from the kind that `like` names, else from the kind of the same name if the
    catalogue has it, else from nothing.
    """
    by_fold = {folded(known): kind for known, kind in kit.kinds.items()}
    base = by_fold.get(folded(name))
    if not isinstance(table, Mapping) or LIKE not in table:
        return kind_from_table(name, table, base)
    like = folded(str(table[LIKE]))
    if like in by_fold:
        return kind_from_table(name, table, by_fold[like])
    kind, mistakes = kind_from_table(name, table, base)
    # What the kind meant would have brought is not missing as well.
    return kind, [_no_such_kind(table[LIKE], kit), *(m for m in mistakes if m.path != ("does",))]


def _no_such_kind(like: object, kit: Kit) -> Mistake:
    return Mistake(
        path=(LIKE,),
        what=f"{LIKE} is {shown(like)}",
        expected=f"a kind of the catalogue{perhaps(str(like), kit.kinds)}",
    )


def _read_sockets(value: object, path: Path, mistakes: list[Mistake]) -> tuple[Socket, ...]:
    """Give the sockets of all groups; numbers run on by side from group to group."""
    sockets: list[Socket] = []
    reached = {Side.IN: 0, Side.OUT: 0}
    for i, group in enumerate(read_list(value, path, mistakes, "a list of sockets")):
        read = _read_group(group, SOCKET_WORDS, (*path, i), mistakes, "a socket")
        if read is None:
            continue
        count, joins = read.pop("count", 1), read.pop("joins", None)
        side = Side(read.pop("side"))
        read["signal"] = Signal(read["signal"])
        first = reached[side]
        if first + count > MOST:
            mistakes.append(_too_many((*path, i, "count"), count))
            continue
        sockets += [
            Socket(
                number=first + k,
                side=side,
                joins=None if joins is None else joins + k - 1,
                **read,
            )
            for k in range(1, count + 1)
        ]
        reached[side] += count
    return tuple(sockets)


def _too_many(path: Path, count: int) -> Mistake:
    return Mistake(
        path=path,
        what=f"{way_down(path)} is {count}",
        expected=f"at most {MOST} in all its groups together",
    )


def _read_ports(value: object, path: Path, mistakes: list[Mistake]) -> tuple[Port, ...]:
    ports: list[Port] = []
    for i, group in enumerate(read_list(value, path, mistakes, "a list of ports")):
        read = _read_group(group, PORT_WORDS, (*path, i), mistakes, "a port")
        if read is not None:
            count = read.pop("count", 1)
            if len(ports) + count > MOST:
                mistakes.append(_too_many((*path, i, "count"), count))
                continue
            ports += [Port(number=len(ports) + k, **read) for k in range(1, count + 1)]
    return tuple(ports)


def _read_group(
    group: object, words: Mapping[str, Word], path: Path, mistakes: list[Mistake], about: str
) -> dict[str, Any] | None:
    read = read_table(group, words, path, mistakes, about=about)
    return read if all(w.into in read for w in words.values() if w.needed) else None


def _read_numbering(value: object, path: Path, mistakes: list[Mistake]) -> Numbering | None:
    read = _read_group(value, NUMBERING_WORDS, path, mistakes, "numbering")
    return None if read is None else Numbering(**read)


def _read_clock(value: object, path: Path, mistakes: list[Mistake]) -> ClockFacts | None:
    read = _read_group(value, CLOCK_WORDS, path, mistakes, "clock facts")
    return None if read is None else ClockFacts(**read)


_NESTED: Nested = {
    Holds.SOCKETS: _read_sockets,
    Holds.PORTS: _read_ports,
    Holds.NUMBERING: _read_numbering,
    Holds.CLOCK: _read_clock,
}


def _clashes(kind: Kind) -> list[Mistake]:
    """Give what can't be true together, each said at the key to mend."""
    found: list[Mistake] = []

    def unless(true: bool, key: str, what: str, expected: str) -> None:
        if not true:
            found.append(Mistake(path=(key,), what=what, expected=expected))

    worst, poe = kind.worst_w, kind.poe_class
    unless(
        kind.programme_w <= worst,
        "programme-w",
        f"programme-w is {kind.programme_w:g}",
        f"at most worst-w, which is {worst:g}",
    )
    unless(
        poe is None or worst <= POE_DEVICE_W[poe],
        "worst-w",
        f"worst-w is {worst:g}",
        f"at most {POE_DEVICE_W[poe or 0]:g}, which is what a device of poe-class {poe} may draw",
    )
    unless(
        not kind.passive or not (worst or kind.ports or kind.networked),
        "passive",
        "passive is yes",
        "no for a kind with power, ports or channels",
    )
    unless(
        bool(kind.ports) or not kind.networked,
        "ports",
        "it sends or receives and has no ports",
        "a port for its channels",
    )
    unless(
        not kind.port_modes or len(kind.ports) >= 2,
        "port-modes",
        f"port-modes is {' '.join(kind.port_modes)} and it has {len(kind.ports)} port",
        "two ports for a pair or a chain",
    )
    return found + _wrong_joins(kind)


def _wrong_joins(kind: Kind) -> list[Mistake]:
    inputs = {socket.number for socket in kind.sockets_on(Side.IN)}
    lost = [s for s in kind.sockets if s.joins is not None and s.joins not in inputs]
    return [
        Mistake(
            path=("sockets",),
            what=f"{s.side.value}-{s.number} joins input {s.joins}",
            expected=f"an input from 1 to {len(inputs)}" if inputs else "an input to join",
        )
        for s in lost[:1]
    ]


def kind_to_table(kind: Kind, base: Kind | None = None) -> dict[str, Any]:
    """Give the table that `kind_from_table` reads back to the same kind, from the same base.

    Keys stand in the order they are declared; what is the base's, or without one the default, is
    left out. For a kind of a show that has the name of one of the catalogue, that one is the base.

    >>> from lineproof.kit.kinds import Does
    >>> siren = Kind(name="siren", label="Siren", does=Does.ALARM, supplies=2)
    >>> kind_to_table(siren)
    {'label': 'Siren', 'does': 'alarm', 'supplies': 2}
    >>> kind_to_table(replace(siren, clock=None, supplies=1), siren)
    {'supplies': 1}
    """
    table: dict[str, Any] = {}
    for word in KIND_WORDS.values():
        value = getattr(kind, word.into)
        usual = _DEFAULTS.get(word.into) if base is None else getattr(base, word.into)
        if value != usual:
            table[word.key] = _written(word, value)
    return table


def _written(word: Word, value: Any) -> Any:
    if word.none and value in (None, ""):
        return "none"
    return _WRITERS.get(word.holds, _plain)(value)


def _defaults(of: type[Any]) -> dict[str, Any]:
    """Give the defaults of a type's fields; what has none is never left out."""
    return {
        field.name: {} if field.default_factory is dict else field.default for field in fields(of)
    }


_DEFAULTS = _defaults(Kind)
_FIGURES = tuple((w.into, w.group) for w in KIND_WORDS.values() if w.group)


def groups_of(kind: Kind) -> tuple[str, ...]:
    """Give the groups of figures in which a kind has any, in the order of `GROUPS`.

    >>> from lineproof.kit.kinds import Does
    >>> groups_of(Kind(name="siren", label="Siren", does=Does.ALARM, worst_w=20))
    ('power',)
    """
    filled = {group for field, group in _FIGURES if getattr(kind, field) != _DEFAULTS[field]}
    if any(s.most_dbu is not None or s.noise_dbu is not None for s in kind.sockets):
        filled.add("levels")
    return tuple(group for group in GROUPS if group in filled)


def _plain(value: Any) -> Any:
    match value:
        case Does() | Signal() | Side():
            return value.value
        case tuple():
            return [_plain(item) for item in value]
        case float() if value.is_integer():
            return int(value)
        case _:
            return value


def _one(value: Any, words: Mapping[str, Word]) -> dict[str, Any]:
    defaults = _defaults(type(value))
    table: dict[str, Any] = {}
    for word in words.values():
        # `count` is of the group; one socket or port has none.
        said = getattr(value, word.into, None)
        if word.needed or said != defaults.get(word.into):
            table[word.key] = _plain(said)
    return table


def _groups(values: Iterable[Socket | Port], words: Mapping[str, Word]) -> list[dict[str, Any]]:
    """Give runs of equals as one group with its count."""
    groups: list[dict[str, Any]] = []
    last: Socket | Port | None = None
    for value in values:
        if last is not None and value == _next(last):
            groups[-1]["count"] = groups[-1].get("count", 1) + 1
        else:
            groups.append(_one(value, words))
        last = value
    return groups


def _next(value: Socket | Port) -> Socket | Port:
    if isinstance(value, Socket) and value.joins is not None:
        return replace(value, number=value.number + 1, joins=value.joins + 1)
    return replace(value, number=value.number + 1)


_WRITERS: Mapping[Holds, Callable[[Any], Any]] = {
    Holds.SOCKETS: lambda value: _groups(value, SOCKET_WORDS),
    Holds.PORTS: lambda value: _groups(value, PORT_WORDS),
    Holds.NUMBERING: lambda value: _one(value, NUMBERING_WORDS),
    Holds.CLOCK: lambda value: _one(value, CLOCK_WORDS),
    Holds.CHANNELS: dict,
}
