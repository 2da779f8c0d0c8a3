"""Every word of the show file, declared once: type, measure, default, meaning, reader."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from lineproof.base import quantity as q
from lineproof.base.quantity import Measure


@dataclass(frozen=True, kw_only=True)
class Word:
    """A key (or a table's column) of the show.

    `type` is one of: text, name, names, count, yes-no, choice, quantity, position, point, pixel,
    ends, start, spots, table, map. `reader` says which part reads it; "" means that its turn comes
    later: it is read, kept and noted as not yet used.
    """

    key: str
    type: str
    meaning: str
    reader: str = "plan"
    measure: Measure | None = None
    choices: tuple[str, ...] = ()
    default: str = ""
    needed: bool = False

    def expected(self) -> str:
        """Say in words what is expected as its value."""
        if self.measure is not None:
            return self.measure.expected()
        if self.choices:
            return "one of " + ", ".join(self.choices)
        return _EXPECTED[self.type]


_EXPECTED = {
    "text": "a text",
    "name": "a name",
    "names": "names with blanks or commas between",
    "count": "a whole number, 1 or more",
    "yes-no": "yes or no",
    "position": "three numbers in metres, as in [-6, 2, 0]",
    "point": "two numbers in metres, as in [-6, 2]",
    "pixel": "two whole numbers, as in [312, 540]",
    "ends": "places, units, zones or lists, as in 'desk side rec-1|rec-2'",
    "start": "a place or a unit",
    "spots": "a spot, as in 'box-2:in-3'",
    "table": "a table file, a list of files, or rows",
    "map": "keys with their values, as in {key: value}",
}


def _section(*words: Word) -> Mapping[str, Word]:
    return MappingProxyType({word.key: word for word in words})


def _w(key: str, type_: str, meaning: str, **more: object) -> Word:
    return Word(key=key, type=type_, meaning=meaning, **more)  # type: ignore[arg-type]


LABEL = _w("label", "text", "what papers print instead of the name", reader="paper")

SHOW = _section(
    _w("title", "text", "the show's title, on every sheet", reader="paper", needed=True),
    _w("rate", "quantity", "the sample rate of the network", measure=q.RATE, needed=True),
    _w("packet", "quantity", "the longest packet time", measure=q.TIME, default="1 ms"),
    _w(
        "nets",
        "choice",
        "one network or two, a and b",
        choices=("one", "two"),
        default="one",
    ),
    _w("air", "map", "the air of the day", reader=""),
    _w(
        "routes",
        "choice",
        "how long a receive channel hears its socket",
        choices=("all-night", "per-act"),
        default="all-night",
    ),
    _w("weights", "map", "what the planner's wishes weigh, in metres of lead"),
    _w("places", "map", "where equipment stands", needed=True),
    _w("picture", "map", "a drawing of the venue, behind the room on the screen", reader="web"),
    _w("ducts", "map", "ways between places that cables share"),
    _w("circuits", "map", "mains feeds, and what feeds them", reader="check"),
    _w("units", "table", "the equipment", needed=True),
    _w("runs", "map", "network cables and multicores given by hand"),
    _w("stock", "map", "the cables on the truck"),
    _w("ties", "map", "numbered sets of passive lines between two places"),
    _w("zones", "map", "loudspeakers that are heard together"),
    _w("lists", "map", "names for several ends at once"),
    _w("acts", "map", "the parts of the show, in running order"),
    _w(
        "arrangements",
        "map",
        "rooms joined or apart, in any order: names for the act column",
    ),
    _w("lines", "table", "the input list", needed=True),
    _w("defaults", "map", "what fills empty cells, per table or act"),
    _w("pins", "map", "decisions made by hand, under the plan's own keys"),
    _w("kinds", "map", "equipment of the show's own, or changes to the catalogue's"),
    _w("accept", "table", "findings somebody takes on", reader="check"),
    _w("addresses", "map", "address ranges"),
    _w("other", "quantity", "other traffic on shared switches", measure=q.BITRATE, reader="check"),
)
AIR = _section(
    _w("temperature", "quantity", "of the air", measure=q.TEMPERATURE, needed=True),
    _w("humidity", "quantity", "relative", measure=q.SHARE, needed=True),
)
WEIGHTS = _section(
    _w("group", "quantity", "for each further unit a group uses", measure=q.LENGTH, default="8 m"),
    _w(
        "move",
        "quantity",
        "for each plug moved between acts",
        measure=q.LENGTH,
        default="5 m",
        reader="",
    ),
    _w(
        "off-number",
        "quantity",
        "for each receive channel off its box's number",
        measure=q.LENGTH,
        default="3 m",
    ),
    _w(
        "spread-within",
        "quantity",
        "how much further a second unit may be to be near",
        measure=q.LENGTH,
        default="15 m",
    ),
    _w("drop", "quantity", "cable at each end of a run", measure=q.LENGTH, default="3 m"),
    _w("slack", "quantity", "how much a run is longer", measure=q.SHARE, default="10 %"),
)
PLACE = _section(
    _w("at", "position", "x to the right, y away from the stage's edge, z up, in metres"),
    _w("building", "text", "the building it is in; from one to another goes no copper"),
    LABEL,
)
PICTURE = _section(
    _w("file", "text", "in the show's folder: PNG, JPEG or WebP", reader="web", needed=True),
    _w(
        "first",
        "map",
        "a point you know both in the picture and in the room",
        reader="web",
        needed=True,
    ),
    _w("second", "map", "another such point, far from the first", reader="web", needed=True),
)
POINT = _section(
    _w(
        "pixel",
        "pixel",
        "where it is in the picture, from its top left corner: right, down",
        reader="web",
        needed=True,
    ),
    _w(
        "at",
        "point",
        "where it is in the room: x and y as of a place; a height counts for nothing",
        reader="web",
        needed=True,
    ),
)
DUCT = _section(
    _w("between", "names", "the two places it joins", needed=True),
    _w("length", "quantity", "along the way", measure=q.LENGTH, needed=True),
    _w("installed", "yes-no", "its network cable is fixed in the house, not rolled out"),
    LABEL,
)
CIRCUIT = _section(
    _w("fed-by", "name", "the circuit that feeds it", reader="check"),
    _w("supply", "quantity", "its voltage", measure=q.VOLTAGE, reader="check"),
    _w("limit", "quantity", "what its breaker holds", measure=q.CURRENT, reader="check"),
    _w("phase", "text", "which phase", reader=""),
    LABEL,
)
UNIT = _section(
    _w("name", "name", "in a table of units: its name"),
    _w("kind", "name", "its type in the catalogue", needed=True),
    _w("place", "name", "where it stands", needed=True),
    _w("number", "count", "the unit's number, which implies channels"),
    _w(
        "circuit",
        "names",
        "its supply; two names are two supplies, either carries it",
        reader="check",
    ),
    _w("rate", "quantity", "its own sample rate, where not the show's", measure=q.RATE),
    _w("net", "choice", "on that net only", choices=("a", "b")),
    _w("ports", "choice", "two ports as a pair or chained", choices=("pair", "chain")),
    _w("rack", "name", "what it is bolted into", reader="paper"),
    _w("here", "names", "the acts in which it is there"),
    _w("theirs", "yes-no", "a guest's: planned round, never configured", reader="paper"),
    _w("muted-by", "text", "what mutes it, such as the alarm", reader="paper"),
    _w("mac", "text", "its hardware address", reader="check"),
    _w("meeting", "text", "the call it is in", reader="check"),
    _w("standby", "name", "what takes over from it"),
    _w("covers", "names", "what a spare can stand in for; nothing else is plugged into it"),
    _w("by", "text", "who changes over: hand, end or changeover:unit"),
    _w("power", "choice", "fed over its network cable", choices=("network", "mains")),
    _w("sockets-of", "text", "the box whose sockets come out here over a multicore"),
    _w("note", "text", "for people", reader="paper"),
    LABEL,
)
LINE = _section(
    _w("number", "text", "the line's number, a text", needed=True),
    _w("name", "text", "what it is", reader="paper"),
    _w("from", "start", "where it starts: a place or a unit; x|y for a standby both ways"),
    _w("source", "text", "what is plugged in"),
    _w("phantom", "yes-no", "whether it wants 48 V, where the source doesn't tell"),
    _w("to", "ends", "every end; x|y: either will do; ? after it: a want"),
    _w("pair", "text", "the number of its other half"),
    _w("stereo", "text", "yes: the row is a pair; L or R: the half it is"),
    _w("group", "text", "lines that belong together"),
    _w(
        "need",
        "choice",
        "what it is to the act",
        choices=("must", "want", "spare", "safety"),
        default="must",
    ),
    _w("act", "name", "the act it belongs to; blank for every act"),
    _w("socket", "spots", "where it is plugged"),
    _w("channel", "spots", "where it arrives: a strip on a mixer, a receive channel elsewhere"),
    _w("bus", "spots", "where it leaves its unit"),
    _w(
        "via",
        "choice",
        "by cable even where both ends have a network port",
        choices=("cable", "network"),
    ),
    _w("minus", "names", "lines or groups the mix must not contain", reader="check"),
    _w("with", "names", "lines or groups the mix contains", reader="check"),
    _w("never", "names", "ends it must not reach", reader="check"),
    _w("private", "yes-no", "its streams go to its own receivers only", reader="paper"),
    _w("standby", "text", "the line that takes over"),
    _w("by", "text", "who changes over: hand, end or changeover:unit"),
    _w("back-to", "text", "the line whose insert it returns"),
    _w("also", "spots", "further sockets fed by the same microphone"),
    _w("role", "text", "what it is in every act, where not its name"),
    _w("spread", "text", "lines of one word are not all put in one unit"),
    _w(
        "content",
        "choice",
        "what it carries",
        choices=("speech", "music", "effects"),
        reader="plan",
    ),
    _w("stand", "text", "what the microphone stands on", reader="paper"),
    _w("colour", "text", "its colour on labels", reader=""),
    _w("note", "text", "for people", reader="paper"),
    LABEL,
)
RUN = _section(
    _w("from", "text", "unit:port or a place", needed=True),
    _w("to", "text", "unit:port or a place", needed=True),
    _w("along", "names", "the ducts it lies in"),
    _w("cable", "text", "copper, multi-mode, single-mode, multicore"),
    _w("length", "quantity", "of the cable", measure=q.LENGTH),
    _w("couplers", "count", "joints on its way"),
    LABEL,
)
STOCK = _section(
    _w(
        "cable",
        "choice",
        "what it is made of",
        choices=("copper", "multi-mode", "single-mode", "multicore"),
        default="copper",
    ),
    _w("length", "quantity", "of each", measure=q.LENGTH, needed=True),
    _w("count", "count", "how many there are", needed=True),
    LABEL,
)
TIE = _section(
    _w("between", "names", "the two places it joins", needed=True),
    _w("count", "count", "how many lines", needed=True),
    LABEL,
)
ACT = _section(
    _w("stage", "text", "the stage it plays on"),
    _w("starts", "text", "when"),
    _w("ends", "text", "when"),
    _w(
        "build",
        "choice",
        "when it is plugged",
        choices=("before", "between"),
        default="between",
    ),
    _w(
        "content",
        "choice",
        "what its lines carry",
        choices=("speech", "music", "effects"),
        reader="plan",
    ),
    LABEL,
)
TABLE = _section(
    _w("table", "text", "the file", needed=True),
    _w("sheet", "text", "the sheet of a workbook"),
    _w("act", "name", "the act all its lines belong to"),
    _w(
        "content",
        "choice",
        "what its lines carry",
        choices=("speech", "music", "effects"),
        reader="plan",
    ),
    _w("defaults", "map", "what fills its empty cells"),
)
ACCEPT = _section(
    _w("finding", "name", "the rule's name", reader="check", needed=True),
    _w("of", "names", "the names it is about", reader="check"),
    _w("reason", "text", "why it can be lived with", reader="check", needed=True),
    _w("by", "text", "who takes it on", reader="check", needed=True),
)
PIN = _section(
    _w("start", "spots", "the spots at its start"),
    _w("ends", "map", "the spots at each end"),
)

SECTIONS: Mapping[str, Mapping[str, Word]] = MappingProxyType(
    {
        "show": SHOW,
        "air": AIR,
        "weights": WEIGHTS,
        "places": PLACE,
        "picture": PICTURE,
        "point": POINT,
        "ducts": DUCT,
        "circuits": CIRCUIT,
        "units": UNIT,
        "lines": LINE,
        "runs": RUN,
        "stock": STOCK,
        "ties": TIE,
        "acts": ACT,
        "tables": TABLE,
        "accept": ACCEPT,
        "pins": PIN,
    }
)

#: Words of the list that say a cell is not decided, or that nothing is meant.
UNDECIDED = frozenset({"tbc", "tba", "tbd", "?"})
NOTHING = frozenset({"n/a", "na", "-", "–", "—", "none"})
YES = frozenset(
    {
        "yes",
        "y",
        "x",
        "true",
        "on",
        "1",
        "ja",
        "j",
        "oui",
        "o",
        "sí",
        "si",
        "s",
        "48v",
        "+48",
        "+48v",
        "48",
        "p48",
        "✓",
        "✔",
        "•",
        "*",
    }
)
NO = frozenset({"no", "n", "false", "off", "0", "nein", "non", "-"})
