"""Shows with every key of the show file in them, drawn by hypothesis from the declared words."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from itertools import pairwise

from hypothesis import strategies as st

from lineproof.base.quantity import Measure, write_quantity
from lineproof.show.words import SECTIONS, Word

#: Texts that people write, and that some file format or other takes for something else.
TEXTS = (
    "Lantern Night",
    "tbc",
    "n/a",
    "-",
    "spare",
    "yes",
    "no",
    "null",
    "007",
    "1.50",
    "1e5",
    "12",
    "5. Jun",
    "=SUM(A1)",
    "+48",
    "@home",
    "a: b",
    "a # b",
    "a, b; c",
    "it's",
    'say "hey"',
    "{x}",
    "[x]",
    "*star*",
    "&and",
    "!",
    "%",
    "50 %",
    "--- BAND ---",
    "Zwölfter Gruß",
    "日本",
    "a\\b",
    "two  blanks",
    "a|b",
    "tab\there",
    "x\u00a0y",
)
PLACES = ("stage-left", "stage-right", "Bühne", "front")
UNITS = ("box-1", "box-2", "desk", "side", "rec-1", "rec-2", "pa-left", "amp-1", "keys")
KINDS = {
    "box-1": "box-16-8",
    "box-2": "own-box",
    "desk": "mixer-32",
    "side": "mixer-16",
    "rec-1": "computer-32",
    "rec-2": "own-recorder",
    "pa-left": "analogue-loudspeaker",
    "amp-1": "own-amplifier",
    "keys": "computer-16",
}
CIRCUITS = ("house", "stage", "12")
DUCTS = ("floor", "roof")
ACTS = ("early", "late-set")
BY = ("hand", "end", "changeover:keys")
NUMBERS = ("1", "2", "3", "07", "7", "12a", "17L", "B.4", "41", "42")

KIND_TABLES = {
    "own-box": {"like": "box-16-8", "label": "007", "note": "yes"},
    "own-recorder": {"like": "computer-32", "receive": {48000: 3}, "note": "a: b"},
    "own-amplifier": {
        "does": "amplifier",
        "label": "1.50",
        "sockets": [
            {"side": "in", "count": 2, "signal": "line", "connector": "XLR 3", "most-dbu": 12.5}
        ],
    },
}


def quantities(measure: Measure) -> st.SearchStrategy[str]:
    """Give quantities of a measure as people write them, within its limits."""
    low, high = max(measure.low, -50), min(measure.high, measure.low + 1000)
    if measure.unit == "Hz":
        return st.sampled_from(["44.1 kHz", "48 kHz", "96 kHz", "48000 Hz"])
    figures = st.integers(round(low), round(high)) | st.floats(low, high).map(lambda x: round(x, 3))
    return figures.map(lambda figure: write_quantity(figure, measure))


def texts() -> st.SearchStrategy[str]:
    """Give texts, awkward ones among them."""
    letters = st.characters(categories=("L", "N", "P", "S", "Zs"), exclude_characters="\u2028")
    plain = st.text(letters, min_size=1, max_size=12).filter(lambda t: bool(t.strip()))
    return st.sampled_from(TEXTS) | plain


def some(names: Sequence[str], *, least: int = 1) -> st.SearchStrategy[list[str]]:
    """Give a few of the names, each once."""
    return st.lists(st.sampled_from(names), min_size=least, max_size=3, unique=True)


def value_of(word: Word) -> st.SearchStrategy[object]:
    """Give values for a word by what it is declared to hold."""
    if word.measure is not None:
        return quantities(word.measure)
    if word.choices:
        return st.sampled_from(word.choices)
    by_type: Mapping[str, st.SearchStrategy[object]] = {
        "text": texts(),
        "count": st.integers(1, 9999),
        "yes-no": st.sampled_from(["yes", "no"]),
        "position": st.lists(st.integers(-50, 50) | st.just(1.25), min_size=3, max_size=3),
        "point": st.lists(st.integers(-50, 50) | st.just(-0.75), min_size=2, max_size=3),
        "pixel": st.lists(st.integers(0, 99_999), min_size=2, max_size=2),
    }
    return by_type[word.type]


#: What only a show as a whole can say: names of its own things.
SPECIAL: Mapping[tuple[str, str], st.SearchStrategy[object]] = {
    ("ducts", "between"): some(PLACES, least=2).map(lambda x: x[:2]),
    ("ties", "between"): some(PLACES, least=2).map(lambda x: x[:2]),
    ("runs", "along"): some(DUCTS),
    ("circuits", "fed-by"): st.just("house"),
    ("units", "circuit"): some(CIRCUITS).map(lambda x: x[:2]),
    ("units", "rack"): st.sampled_from(["left", "right-2"]),
    ("units", "here"): some(ACTS),
    ("units", "standby"): st.sampled_from(UNITS),
    ("units", "covers"): some(UNITS),
    ("units", "by"): st.sampled_from(BY),
    ("units", "rate"): st.just("48 kHz"),
    ("units", "number"): st.integers(1, 2),
    ("lines", "act"): st.sampled_from(ACTS),
    ("lines", "from"): st.sampled_from([*PLACES, "keys", "desk", "box-1:in-3", "stage-left|front"]),
    ("lines", "to"): st.sampled_from(
        [
            "desk",
            "desk side rec-1|rec-2",
            "desk, rec-1?",
            ["desk", "side?"],
            "amp-1:1-2",
            "pa-left front?",
            "everyone",
            "main desk",
            "rec-1..rec-2 desk:strip-9",
        ]
    ),
    ("lines", "stereo"): st.sampled_from(["no", "mono"]),
    ("lines", "minus"): some(["1", "band", "12a"]),
    ("lines", "with"): some(["1", "band", "12a"]),
    ("lines", "never"): some(UNITS),
    ("lines", "by"): st.sampled_from(BY),
    ("lines", "also"): some(["box-1:in-9", "box-2:in-10"]),
    ("accept", "finding"): st.sampled_from(["group-silenced", "left-out"]),
    ("accept", "of"): some(["drums", "desk", "12a"]),
}
#: Keys that `records` does not draw: the table says which part of the show sees to them.
ELSEWHERE = {
    ("units", "name"): "units stand under their names",
    ("units", "kind"): "each unit has a kind that its lines can use",
    ("units", "place"): "drawn for every unit",
    ("lines", "number"): "drawn for every line",
    ("lines", "pair"): "drawn for two lines at once",
    ("lines", "socket"): "drawn where the start is a place",
    ("lines", "channel"): "drawn where the line goes to the mixer",
    ("lines", "bus"): "drawn where the line starts inside a unit",
    ("lines", "standby"): "drawn among the lines there are",
    ("lines", "back-to"): "drawn among the lines there are",
    ("pins", "start"): "drawn with the lines",
    ("pins", "ends"): "drawn with the lines",
    ("picture", "first"): "drawn with the second",
    ("picture", "second"): "drawn apart from the first",
    ("tables", "table"): "drawn with the lines' file",
    ("tables", "sheet"): "only of a workbook",
    ("tables", "act"): "drawn with the lines' file",
    ("tables", "content"): "drawn with the lines' file",
    ("tables", "defaults"): "drawn with the lines' file",
}


@st.composite
def records(draw: st.DrawFn, section: str) -> dict[str, object]:
    """Give a record of a section with its needed keys and some of the others."""
    record: dict[str, object] = {}
    for key, word in SECTIONS[section].items():
        if (section, key) not in ELSEWHERE and (word.needed or draw(st.booleans())):
            known = SPECIAL.get((section, key))
            record[key] = draw(value_of(word) if known is None else known)
    return record


@st.composite
def pictures(draw: st.DrawFn) -> dict[str, object]:
    """Give a picture; its two points are never the same."""
    first, second = draw(records("point")), draw(records("point"))
    apart = all(str(first[key])[:9] != str(second[key])[:9] for key in ("pixel", "at"))
    points = {"first": first, "second": second if apart else {"pixel": [1, 2], "at": [90, 91]}}
    return {**draw(records("picture")), **points}


@st.composite
def pins_of(draw: st.DrawFn, rows: list[dict[str, object]]) -> dict[str, object]:
    """Give pins for some of the rows, under the plan's own keys."""
    pins: dict[str, object] = {}
    for at, row in enumerate(rows):
        if str(row["to"]).startswith("desk") and "channel" not in row and draw(st.booleans()):
            key = f"{row['act']}/{row['number']}" if row.get("act") else str(row["number"])
            pins[key] = {"ends": {"desk": f"desk:receive-{at + 20}"}}
    return pins


@st.composite
def lines(draw: st.DrawFn) -> tuple[list[dict[str, object]], dict[str, object]]:
    """Give rows of lines, and pins for some of them."""
    numbers = draw(st.lists(st.sampled_from(NUMBERS), min_size=1, max_size=5, unique=True))
    rows: list[dict[str, object]] = []
    for at, number in enumerate(numbers):
        row = {"number": number, "from": "front", "to": "desk", **draw(records("lines"))}
        to_desk = "desk" in str(row["to"]) and "strip" not in str(row["to"])
        if row["from"] in PLACES and draw(st.booleans()):
            row["socket"] = f"box-1:{at + 1}"
        elif row["from"] in ("keys", "desk") and draw(st.booleans()):
            row["bus"] = at + 1
        if to_desk and draw(st.booleans()):
            row["channel"] = f"desk:strip-{at + 20}"
        if "strip" in str(row["to"]):
            row.pop("via", None)  # by cable it would come to a socket
        rows.append(row)
    if len(rows) > 1 and draw(st.booleans()):
        rows[1]["act"] = rows[0].get("act", "")
        rows[0]["pair"] = rows[1]["number"]
        if draw(st.booleans()):
            rows[0]["stereo"], rows[1]["stereo"] = draw(st.permutations(["L", "R"]))
    for row, other in pairwise(rows):
        key = f"{other['act']}/{other['number']}" if other.get("act") else str(other["number"])
        row.update(draw(st.sampled_from([{}, {"standby": key}, {"back-to": key}])))
    return rows, draw(pins_of(rows))


@st.composite
def whole_shows(draw: st.DrawFn) -> str:
    """Give the text of `show.yaml` with all its lines in it."""
    named = {
        "places": PLACES,
        "ducts": DUCTS,
        "circuits": CIRCUITS,
        "runs": ("trunk", "Ersatz"),
        "ties": ("tie-1",),
        "acts": ACTS,
    }
    show: dict[str, object] = {}
    for key, word in SECTIONS["show"].items():
        if word.type not in ("map", "table") and (word.needed or draw(st.booleans())):
            show[key] = draw(value_of(word))
    show["rate"] = "48 kHz"
    for key, names in named.items():
        show[key] = {name: draw(records(key)) for name in names}
    circuits = show["circuits"]
    assert isinstance(circuits, dict)
    circuits["house"].pop("fed-by", None)
    for key in ("air", "weights"):
        if draw(st.booleans()):
            show[key] = draw(records(key))
    if draw(st.booleans()):
        show["picture"] = draw(pictures())
    show["units"] = {
        name: {
            "kind": KINDS[name],
            "place": draw(st.sampled_from(PLACES)),
            **draw(records("units")),
        }
        for name in UNITS
    }
    show["zones"] = {"main": ["pa-left", "amp-1:1-2"]}
    show["lists"] = {"everyone": draw(some(["desk", "side", "rec-1?"]))}
    show["arrangements"] = {"joined": draw(some(ACTS))}
    show["kinds"] = KIND_TABLES
    show["addresses"] = {"audio-a": "10.1.0.0/16", "control": draw(st.just("192.168.7.0/24"))}
    show["accept"] = draw(st.lists(records("accept"), max_size=2))
    show["defaults"] = {"early": {"to": "desk side"}}
    show["lines"], show["pins"] = draw(lines())
    return as_yaml({key: value for key, value in show.items() if value not in ({}, [])})


def as_yaml(value: object) -> str:
    """Give a tree as YAML in the form that is JSON as well."""
    return json.dumps(value, ensure_ascii=False, indent=1)
