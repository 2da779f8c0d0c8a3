"""A show as the text of its folder: `show.yaml` and `lines.csv`, in one fixed form."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping

from lineproof.base import quantity as q
from lineproof.base.names import natural
from lineproof.base.quantity import Measure, write_quantity
from lineproof.kit.load import kind_to_table, load_kit
from lineproof.show.model import Line, Picture, Pin, Show, Unit, Weights
from lineproof.show.words import LINE

LINES_FILE = "lines.csv"


def write_show(show: Show) -> dict[str, str]:
    """Give the show's files by name; `read_show` reads them back to an equal show."""
    return {"show.yaml": _yaml(show), LINES_FILE: _csv(show)}


# -- YAML ----------------------------------------------------------------------------------------

_PLAIN = re.compile(r"[^\W_][\w \-./+|°²–]*[\w%]|[^\W_]")


def scalar(text: str) -> str:
    """Give `text` as a YAML scalar, quoted only where it must be.

    >>> scalar("48 kHz"), scalar("a: b"), scalar("it's")
    ('48 kHz', "'a: b'", "'it''s'")
    """
    if _PLAIN.fullmatch(text):
        return text
    if "\n" in text or not text.isprintable():
        escaped = text.encode("unicode_escape").decode().replace('"', '\\"')
        # unicode_escape doubles backslashes itself; YAML reads \xNN, \uNNNN and \n the same way.
        return f'"{escaped}"'
    return "'" + text.replace("'", "''") + "'"


def flow(value: object) -> str:
    """Give nested mappings, lists and texts in YAML's one-row form."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{scalar(str(k))}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(flow(v) for v in value) + "]"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return scalar(str(value))


def _yaml(show: Show) -> str:
    rows: list[str] = []
    for key, value in _top(show):
        if isinstance(value, Mapping) and key not in ("air", "weights", "picture"):
            rows.append(f"{key}:")
            rows += [f"  {scalar(name)}: {flow(record)}" for name, record in value.items()]
        elif isinstance(value, list):
            rows.append(f"{key}:")
            rows += [f"  - {flow(record)}" for record in value]
        else:
            rows.append(f"{key}: {flow(value)}")
    return "\n".join(rows) + "\n"


def _top(show: Show) -> Iterable[tuple[str, object]]:
    """Give the top keys with what is written under them; nothing for what is left at default."""
    yield "title", show.title
    yield "rate", write_quantity(show.rate_hz, q.RATE)
    yield "packet", write_quantity(show.packet_ms, q.TIME)
    yield "nets", show.nets
    if show.air is not None:
        yield (
            "air",
            _record(
                temperature=_said(show.air.temperature_c, q.TEMPERATURE),
                humidity=_said(show.air.humidity_percent, q.SHARE),
            ),
        )
    yield "routes", show.routes
    if show.weights != Weights():
        yield "weights", _weights(show.weights)
    if show.picture is not None:
        yield "picture", _picture(show.picture)
    for key, records in _sections(show):
        if records:
            yield key, records
    if show.other_mbit is not None:
        yield "other", _said(show.other_mbit, q.BITRATE)
    if show.lines:
        yield "lines", LINES_FILE


def _sections(show: Show) -> Iterable[tuple[str, object]]:
    yield "kinds", _kinds(show)
    yield (
        "places",
        {
            p.name: _record(
                at=p.at_m and [_plain(m) for m in p.at_m], building=p.building, label=p.label
            )
            for p in show.places.values()
        },
    )
    yield (
        "ducts",
        {
            d.name: _record(
                between=list(d.between),
                length=_said(d.length_m, q.LENGTH),
                installed="yes" if d.installed else "",
                label=d.label,
            )
            for d in show.ducts.values()
        },
    )
    yield (
        "circuits",
        {
            c.name: {
                **_record(supply=_said(c.supply_v, q.VOLTAGE), limit=_said(c.limit_a, q.CURRENT)),
                **_record(phase=c.phase, label=c.label, **{"fed-by": c.fed_by}),
            }
            for c in show.circuits.values()
        },
    )
    yield "units", {u.name: _unit(u) for u in show.units.values()}
    yield (
        "runs",
        {
            r.name: {
                **_record(
                    **{"from": r.ends[0], "to": r.ends[1]}, along=list(r.along), cable=r.cable
                ),
                **_record(length=_said(r.length_m, q.LENGTH), label=r.label),
                **_record(couplers=r.couplers or ""),
            }
            for r in show.runs.values()
        },
    )
    yield (
        "stock",
        {
            s.name: _record(
                cable=s.cable, length=_said(s.length_m, q.LENGTH), count=s.count, label=s.label
            )
            for s in show.stock.values()
        },
    )
    yield (
        "ties",
        {
            t.name: _record(between=list(t.between), count=t.count, label=t.label)
            for t in show.ties.values()
        },
    )
    yield "zones", {name: list(words) for name, words in show.zones.items()}
    yield "lists", {name: list(words) for name, words in show.lists.items()}
    yield (
        "acts",
        {
            a.name: _record(
                stage=a.stage,
                starts=a.starts,
                ends=a.ends,
                build=a.build,
                content=a.content,
                label=a.label,
            )
            for a in show.acts
        },
    )
    yield "arrangements", {name: list(words) for name, words in show.arrangements.items()}
    yield "pins", _pins(show.pins)
    yield "addresses", dict(show.addresses)
    yield (
        "accept",
        [
            _record(finding=a.finding, of=list(a.of), reason=a.reason, by=a.by)
            for a in show.accepted
        ],
    )


def _record(**values: object) -> dict[str, object]:
    return {k: v for k, v in values.items() if v not in ("", None, [], ())}


def _said(figure: float | None, measure: Measure) -> str:
    return "" if figure is None else write_quantity(figure, measure)


def _plain(figure: float) -> str:
    return f"{figure:.9f}".rstrip("0").rstrip(".")


def _picture(picture: Picture) -> dict[str, object]:
    points = {"first": picture.first, "second": picture.second}
    return {
        "file": picture.file,
        **{
            key: {"pixel": list(point.pixel), "at": [_plain(m) for m in point.at_m]}
            for key, point in points.items()
        },
    }


def _weights(weights: Weights) -> dict[str, object]:
    return {
        "group": _said(weights.group_m, q.LENGTH),
        "move": _said(weights.move_m, q.LENGTH),
        "off-number": _said(weights.off_number_m, q.LENGTH),
        "spread-within": _said(weights.spread_within_m, q.LENGTH),
        "drop": _said(weights.drop_m, q.LENGTH),
        "slack": _said(weights.slack_percent, q.SHARE),
    }


def _kinds(show: Show) -> dict[str, object]:
    usual = load_kit().kinds
    return {
        name: kind_to_table(kind, usual.get(name))
        for name, kind in sorted(show.kit.kinds.items(), key=lambda item: natural(item[0]))
        if usual.get(name) != kind
    }


def _unit(u: Unit) -> dict[str, object]:
    record = _record(
        kind=u.kind.name,
        place=u.place,
        number=u.number,
        circuit=list(u.circuits) if len(u.circuits) > 1 else "".join(u.circuits),
        label=u.label,
        net=u.net,
        ports=u.ports,
        rate=_said(u.rate_hz, q.RATE),
        rack=u.rack,
        here=list(u.here),
        theirs="yes" if u.theirs else "",
        mac=u.mac,
        meeting=u.meeting,
        standby=u.standby,
        covers=list(u.covers),
        by=u.by,
        power=u.power,
        note=u.note,
    )
    return {**record, **_record(**{"muted-by": u.muted_by, "sockets-of": u.sockets_of}), **u.extra}


def _pins(pins: tuple[Pin, ...]) -> dict[str, object]:
    """Give the pins by line; those of no end in particular stand under `start`."""
    by_line: dict[str, dict[str, object]] = {}
    for pin in sorted(pins, key=lambda p: (p.line.sort_key(), natural(p.part))):
        record = by_line.setdefault(str(pin.line), {})
        if pin.part:
            ends = record.setdefault("ends", {})
            assert isinstance(ends, dict)
            ends.setdefault(pin.part, []).append(str(pin.spot))
        else:
            start = record.setdefault("start", [])
            assert isinstance(start, list)
            start.append(str(pin.spot))
    return dict(by_line)


# -- CSV -----------------------------------------------------------------------------------------


def _csv(show: Show) -> str:
    rows = [_cells(line) for line in show.lines]
    extra = sorted({key for line in show.lines for key in line.extra})
    used = [key for key in LINE if any(row.get(key) for row in rows)]
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow([*used, *extra])
    for line, row in zip(show.lines, rows, strict=True):
        table.writerow([*(row.get(k, "") for k in used), *(line.extra.get(k, "") for k in extra)])
    return out.getvalue()


def _cells(line: Line) -> dict[str, str]:
    """Give a line's cells under the words of the show file."""
    return {
        "number": line.key.number,
        "name": line.name,
        "from": "|".join(str(s) for s in line.starts if not s.implied),
        "source": line.source_text,
        "phantom": _yes_no(line.phantom),
        "to": ends_text(line),
        "pair": line.pair.number if line.pair else "",
        "stereo": ("L" if line.left else "R") if line.pair else "",
        "group": line.group,
        "need": line.need.value,
        "act": line.key.act,
        "via": line.via,
        "minus": " ".join(line.minus),
        "with": " ".join(line.contains),
        "never": " ".join(line.never),
        "private": "yes" if line.private else "",
        "standby": line.standby,
        "by": line.by,
        "back-to": line.back_to,
        "also": " ".join(line.also),
        "role": line.role,
        "spread": line.spread,
        "content": line.content,
        "stand": line.stand,
        "colour": line.colour,
        "note": line.note,
        "label": line.label,
    }


def _yes_no(value: bool | None) -> str:
    return "" if value is None else "yes" if value else "no"


def ends_text(line: Line) -> str:
    """Give the ends as somebody would write them: a zone or range by its name, once."""
    words: dict[str, bool] = {}
    for end in line.ends:
        written = "|".join(str(m) for m in end.members if not m.implied)
        word = end.part_of or written
        words[word] = words.get(word, True) and end.want
    return " ".join(word + ("?" if want else "") for word, want in words.items())
