"""What a rename changes in a text: whole names, where such a name may stand."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum, auto
from functools import cached_property

from lineproof.base.errors import Refused
from lineproof.base.names import folded
from lineproof.base.spot import LineKey, SpotError
from lineproof.show.ends import EndError, expand_range
from lineproof.show.table_words import clean


class Role(Enum):
    """What the words of a cell, or under a key, name."""

    NAMES = auto()
    """Places and units, bare or as ends, spots and ranges."""
    ONE = auto()
    """A unit, if it is one word; else people's own words."""
    BY = auto()
    """`changeover:unit`, or a word of ours."""
    ACTS = auto()
    NUMBER = auto()
    """A row's own number, or two: `5/6`."""
    OTHER = auto()
    """Another line, by its number in the row's act, or by act and number."""
    OTHERS = auto()
    """Lines of any act by number, by act and number, or groups."""
    KEY = auto()
    """A line by its whole key."""
    ANY = auto()
    """Whatever a finding is about."""


#: What separates words, by what they name.
_BETWEEN = {
    role: re.compile(r"([\s,;|?]+)")
    for role in (Role.NAMES, Role.ONE, Role.BY, Role.ACTS, Role.ANY)
} | {
    Role.NUMBER: re.compile(r"([\s/]+)"),
    Role.OTHER: re.compile(r"(\s+)"),
    Role.OTHERS: re.compile(r"([\s,;]+)"),
    Role.KEY: re.compile(r"(\s+)"),
}
_PREFIXES = ("circuit", "changeover")


class Unclear(Refused):
    """A word may mean what is renamed, or something else: nobody should guess."""


@dataclass(frozen=True, kw_only=True)
class Naming:
    """One name that becomes another: `what` is unit, place, act or line.

    A line goes by its key, `act/number`, before and after; its act stays.
    """

    what: str
    old: str
    new: str

    def back(self) -> Naming:
        """Give the same the other way round."""
        return Naming(what=self.what, old=self.new, new=self.old)

    def name(self, text: str) -> str:
        """Give the name of a unit, place or act: the new one if it is the old.

        >>> Naming(what="unit", old="rec-1", new="tape").name("Rec-1")
        'tape'
        """
        return self.new if folded(clean(text)) == folded(self.old) else text

    @cached_property
    def old_key(self) -> LineKey:
        """Give the line's key before."""
        return LineKey.parse(self.old)

    @cached_property
    def new_key(self) -> LineKey:
        """Give the line's key after."""
        return LineKey.parse(self.new)

    def key(self, key: LineKey) -> LineKey:
        """Give a line's key as it is afterwards.

        >>> str(Naming(what="act", old="late", new="last").key(LineKey(act="late", number="3")))
        'last/3'
        """
        if self.what == "act" and key.act:
            return LineKey(act=self.name(key.act), number=key.number)
        if self.what == "line" and key.same() == self.old_key.same():
            return LineKey(act=key.act, number=self.new_key.number)
        return key


@dataclass(frozen=True, kw_only=True)
class Renamer:
    """Changes texts of a show: `keys` are its lines, by which a bare number is understood."""

    naming: Naming
    keys: frozenset[tuple[str, str]] = frozenset()

    @classmethod
    def of(cls, naming: Naming, keys: Iterable[LineKey]) -> Renamer:
        """Give what changes the texts of a show with these lines."""
        return cls(naming=naming, keys=frozenset(key.same() for key in keys))

    def replaced(self, text: str, role: Role, *, act: str | None = None) -> str:
        """Give `text` with the new name for every word that names the old one.

        `act` is the row's, None where a text holds for several. Raises Unclear where a bare number
        may be the line, or would be another afterwards.

        >>> tape = Renamer(naming=Naming(what="unit", old="rec-1", new="tape"))
        >>> tape.replaced("desk rec-1|rec-2? rec-10 rec-1:in-3", Role.NAMES)
        'desk tape|rec-2? rec-10 tape:in-3'
        """
        if role is Role.ONE and len(text.split()) != 1:
            return text
        change = self._change(role, act)
        parts = _BETWEEN[role].split(text)
        # Every second part stands between words.
        return "".join(change(p) if n % 2 == 0 and p else p for n, p in enumerate(parts))

    def _change(self, role: Role, act: str | None) -> Callable[[str], str]:
        if self.naming.what == "line":
            return lambda word: self._line(word, role, act)
        if self.naming.what == "act":
            return lambda word: self._act(word, role)
        return lambda word: self._name(word, role)

    # -- units and places ----------------------------------------------------------------------

    def _name(self, word: str, role: Role) -> str:
        if role not in (Role.NAMES, Role.ONE, Role.BY, Role.ANY):
            return word
        name, colon, rest = word.partition(":")
        if colon and role is not Role.NAMES and folded(name) in _PREFIXES:
            follows = folded(name) == "changeover"
            return f"{name}:{self._name(rest, Role.NAMES)}" if follows else word
        return word if role is Role.BY else f"{self.naming.name(name)}{colon}{rest}"

    # -- acts ----------------------------------------------------------------------------------

    def _act(self, word: str, role: Role) -> str:
        act, slash, number = word.rpartition("/")
        if slash and role in (Role.OTHER, Role.OTHERS, Role.KEY, Role.ANY):
            return f"{self.naming.name(act)}/{number}"
        return self.naming.name(word) if role in (Role.ACTS, Role.ANY) else word

    # -- lines ---------------------------------------------------------------------------------

    def _line(self, word: str, role: Role, act: str | None) -> str:
        old, new = self.naming.old_key, self.naming.new_key
        if role not in (Role.NUMBER, Role.OTHER, Role.OTHERS, Role.KEY, Role.ANY):
            return word
        try:
            key = LineKey.parse(clean(word))
        except SpotError:
            return word
        if role is Role.NUMBER:
            mine = LineKey(act=act or "", number=key.number).same() == old.same()
            return new.number if mine else word
        if key.act or role in (Role.KEY, Role.ANY):
            prefix = f"{key.act}/" if key.act else ""
            return f"{prefix}{new.number}" if key.same() == old.same() else word
        if role is Role.OTHER and act is not None:
            return self._in_act(word, act)
        return self._in_any_act(word)

    def _in_act(self, word: str, act: str) -> str:
        """Give a bare number of a row in `act`: it means a line of that act, else of every act."""
        old, new = self.naming.old_key, self.naming.new_key
        meant = self._meant(act, word)
        if meant != old.same():
            return word
        there = self._meant(act, new.number)
        if there is not None and there != new.same():
            raise Unclear(f"{new.number!r} alone would mean another line: write act/number there")
        return new.number

    def _meant(self, act: str, number: str) -> tuple[str, str] | None:
        wanted = folded(clean(number))
        return next((k for k in ((folded(act), wanted), ("", wanted)) if k in self.keys), None)

    def _in_any_act(self, word: str) -> str:
        old, new = self.naming.old_key, self.naming.new_key
        if folded(clean(word)) != folded(old.number):
            return word
        same = [k for k in self.keys if k[1] == folded(old.number) and k != old.same()]
        then = [k for k in self.keys if k[1] == folded(new.number) and k != old.same()]
        if same or then:
            which = old.number if same else new.number
            raise Unclear(f"{which!r} alone names lines of several acts: write act/number there")
        return new.number


def held_in_range(naming: Naming, text: str) -> str | None:
    """Give the range in `text` that holds the unit or place which is renamed, or None.

    >>> held_in_range(Naming(what="unit", old="amp-03", new="x"), "desk amp-01..amp-24?")
    'amp-01..amp-24'
    """
    for word in _BETWEEN[Role.NAMES].split(text):
        try:
            names = expand_range(word) if ".." in word else ()
        except EndError:
            continue
        if folded(naming.old) in {folded(name) for name in names}:
            return word
    return None
