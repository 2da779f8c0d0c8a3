"""The catalogue as people read it: one kind, the list of kinds, and the page of the reference."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from lineproof.base.quantity import RATE, write_quantity
from lineproof.base.spot import Side
from lineproof.kit.kinds import ClockFacts, Does, Kind, Kit, Numbering, Source
from lineproof.kit.table import groups_of, kind_to_table
from lineproof.kit.word import Holds, Word
from lineproof.kit.words import (
    CLOCK_WORDS,
    KIND_WORDS,
    LIKE,
    NUMBERING_WORDS,
    PORT_WORDS,
    SOCKET_WORDS,
)

USUAL_RATE_HZ = 48_000

_PREFACE = f"""\
# The catalogue

Kinds are generic and ours; none is a product. A show adds its own under `kinds:`, or changes a \
key of one that is here by naming it again. `{LIKE}` starts from another kind; a key given \
replaces that one as a whole. A figure may carry its unit (`worst-w: 1.2 kW`), and `none` takes \
away what a kind need not have.

Unless a kind says otherwise its figures are typical practice, and failures per year are an \
assumption: put in the figures of what is really on the truck.

Mains, rigging, loud sound and fibre light can hurt: local codes and licensed people decide there, \
not this catalogue."""


def list_kinds(kit: Kit, does: Does | None = None) -> list[tuple[str, str, str]]:
    """Give name, label and counts of each kind, or of those for one purpose, in kit order."""
    return [
        (kind.name, kind.label, counts(kind))
        for kind in kit.kinds.values()
        if does is None or kind.does is does
    ]


def counts(kind: Kind) -> str:
    """Give how many sockets, channels, strips and ports a kind has, in few words.

    >>> counts(Kind(name="a", label="A", does=Does.MIXER, strips=32, send={48000: 16, 96000: 8}))
    '16 send at 48 kHz, 32 strips'
    """
    ports = len(kind.ports)
    parts = [
        *(f"{n} {side.value}" for side in (Side.IN, Side.OUT) if (n := kind.count(side, 0))),
        *(_channels_at(kind, side) for side in (Side.SEND, Side.RECEIVE)),
        f"{kind.strips} strips" if kind.strips else "",
        f"{ports} port{'s' if ports > 1 else ''}" if ports else "",
    ]
    return ", ".join(filter(None, parts))


def _channels_at(kind: Kind, side: Side) -> str:
    rates = kind.rates()
    rate = USUAL_RATE_HZ if USUAL_RATE_HZ in rates else next(iter(rates), 0)
    count = kind.count(side, rate)
    return f"{count} {side.value} at {write_quantity(rate, RATE)}" if count else ""


def explain_kind(kind: Kind) -> list[tuple[str, str]]:
    """Give each fact of a kind as (key, text): the key as a show would spell it.

    Sockets and ports take a row for each group of equals. What a kind doesn't have is left out.
    """
    said = kind_to_table(kind)
    rows = [("name", kind.name)]
    for word in KIND_WORDS.values():
        value = getattr(kind, word.into)
        match word.holds:
            case Holds.SOCKETS:
                rows += [(word.key, text) for text in _socket_rows(said.get(word.key, []))]
            case Holds.PORTS:
                rows += [(word.key, _port_row(group)) for group in said.get(word.key, [])]
            # That equipment needs mains, or has none, is said even where it is the default.
            case _ if word.key in said or word.key == "supplies":
                rows.append((word.key, text_of(value, word)))
    return rows


def _socket_rows(groups: Iterable[Mapping[str, Any]]) -> list[str]:
    reached: dict[str, int] = {}
    rows: list[str] = []
    for group in groups:
        side, count = group["side"], group.get("count", 1)
        first = reached.get(side, 0) + 1
        reached[side] = first + count - 1
        rows.append(f"{_span(side, first, count)}: {', '.join(_of_socket(group))}")
    return rows


def _span(side: str, first: int, count: int) -> str:
    return f"{side}-{first}" + (f" to {side}-{first + count - 1}" if count > 1 else "")


def _of_socket(group: Mapping[str, Any]) -> list[str]:
    parts = [group["signal"], group["connector"]]
    parts += ["phantom"] if group.get("phantom") else []
    parts += [f"at most {group['most-dbu']:g} dBu"] if "most-dbu" in group else []
    parts += [f"noise {group['noise-dbu']:g} dBu"] if "noise-dbu" in group else []
    if "joins" in group:
        parts.append(f"wired to {_span('in', group['joins'], group.get('count', 1))}")
    parts += ["through a transformer"] if group.get("isolated") else []
    return parts


def _port_row(group: Mapping[str, Any]) -> str:
    feeds = f", feeds {group['feeds-w']:g} W" if "feeds-w" in group else ""
    return f"{group.get('count', 1)} {group['medium']}, {group['speed-mbit']} Mbit/s{feeds}"


def text_of(value: object, word: Word) -> str:
    """Give a value of a kind as people read it, with its unit.

    >>> text_of((0.125, 1.0), KIND_WORDS["packet-ms"]), text_of(True, KIND_WORDS["managed"])
    ('0.125, 1 ms', 'yes')
    """
    match value:
        case bool():
            text = "yes" if value else "no"
        case Does():
            text = value.value
        case Numbering():
            text = f"{value.inputs} inputs, {value.outputs} outputs"
        case ClockFacts(clock_class=rank, accuracy=accuracy, priority1=first, priority2=second):
            text = f"class {rank}, accuracy {accuracy}, priorities {first} and {second}"
        case Mapping():
            text = ", ".join(f"{n} at {write_quantity(r, RATE)}" for r, n in value.items())
        case tuple():
            text = ", ".join(_bare(item) for item in value)
        case _:
            text = _bare(value)
    return f"{text} {word.unit}" if word.unit else text


def _bare(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def kit_page(kit: Kit) -> str:
    """Give the reference page of the catalogue as Markdown, ending in a line break.

    It is made from the declarations and the catalogue alone: same kit, same page.
    """
    parts = [
        _PREFACE,
        _keys("Keys of a kind", KIND_WORDS),
        _keys("Keys of a group of sockets", SOCKET_WORDS),
        _keys("Keys of a group of ports", PORT_WORDS),
        _keys("Keys of `numbering`", NUMBERING_WORDS),
        _keys("Keys of `clock`", CLOCK_WORDS),
        "## Kinds",
        *(_purpose(kit, does) for does in Does if list_kinds(kit, does)),
        _sources(kit.sources.values()),
    ]
    return "\n\n".join(parts) + "\n"


def _keys(heading: str, words: Mapping[str, Word]) -> str:
    rows = [(f"`{w.key}`", _expected(w), w.meaning) for w in words.values()]
    return f"## {heading}\n\n{_markdown(('key', 'holds', 'meaning'), rows)}"


def _expected(word: Word) -> str:
    return word.expected() + (" (needed)" if word.needed else "")


def _purpose(kit: Kit, does: Does) -> str:
    kinds = [kind for kind in kit.kinds.values() if kind.does is does]
    rows = [
        (
            f"`{kind.name}`",
            kind.label,
            counts(kind),
            f"{kind.worst_w:g}" if kind.worst_w else "",
            kind.note,
            _own_figures(kind),
        )
        for kind in kinds
    ]
    headings = ("kind", "label", "counts", "worst W", "note", "not merely practice")
    return f"### {does.value}\n\n{_markdown(headings, rows)}"


def _own_figures(kind: Kind) -> str:
    return ", ".join(group for group in groups_of(kind) if group not in kind.practice)


def _sources(sources: Iterable[Source]) -> str:
    rows = [
        (
            s.label,
            "yes" if s.phantom else s.harm or "no",
            "" if s.level_dbu is None else f"{s.level_dbu:g} dBu",
            ", ".join(s.words),
            s.practice,
        )
        for s in sources
    ]
    headings = ("source", "48 V", "usual level", "words in a list", "practice")
    return (
        "## Sources\n\nWords are compared without case, accents and punctuation, and found inside "
        f"longer text.\n\n{_markdown(headings, rows)}"
    )


def _markdown(headings: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    """Give a table; a column that is empty in every row is left out."""
    body = list(rows)
    kept = [i for i in range(len(headings)) if any(row[i] for row in body)]
    lines = [[headings[i] for i in kept], ["---"] * len(kept)]
    lines += [[row[i].replace("|", "\\|") for i in kept] for row in body]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)
