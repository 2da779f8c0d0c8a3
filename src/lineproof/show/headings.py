"""The headings people write over their columns, in four languages, and what each stands for."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column we know: its name, what else people call it, whether a blank cell may be filled."""

    name: str
    synonyms: tuple[str, ...] = ()
    fill_down: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """Give every word the column is known by, its own name first."""
        return (self.name, *self.synonyms)


def _column(
    name: str, en: str, de: str = "", fr: str = "", es: str = "", *, fill_down: bool = False
) -> Column:
    words = (w.strip() for text in (en, de, fr, es) for w in text.split(","))
    synonyms = tuple(dict.fromkeys(w for w in words if w and w != name))
    return Column(name=name, synonyms=synonyms, fill_down=fill_down)


# The words are the everyday ones of each language (common practice, from memory). A word may
# stand under two columns: `column_of_each` settles which is meant by what else is there, and
# where both would do, the column that stands first here wins.
LINE_COLUMNS: tuple[Column, ...] = (
    _column(
        "number",
        "no, nr, num, n°, #, line, line no, line number, ch, ch no, chan, channel, channel no,"
        "channel number, input, input no, input number, input ch, in, output, output no, out, id",
        "nummer, lfd nr, laufende nummer, kanal, kanal nr, kanalnummer, kan, linie, eingang,"
        "ausgang",
        "numéro, voie, canal, ligne, entrée, sortie, numéro de voie",
        "número, núm, canal, línea, entrada, salida, número de canal",
    ),
    _column(
        "name",
        "title, what, description, desc, channel name, input name, line name, instrument, source,"
        "signal, input, item, label, output name",
        "bezeichnung, kanalname, beschreibung, signal, signalname, quelle, eingang, was",
        "nom, nom de voie, désignation, intitulé, libellé, source, entrée, signal",
        "nombre, nombre de canal, instrumento, fuente, entrada, descripción, denominación, señal",
    ),
    _column(
        "label",
        "strip label, display name, printed as, tape",
        "beschriftung, etikett, aufkleber",
        "étiquette, libellé",
        "etiqueta, rótulo",
    ),
    _column(
        "from",
        "where, place, position, pos, location, stage position, stage pos, plugged at,"
        "plugged in at, starts at, origin, stage",
        "von, ort, standort, aufstellort, platz, bühnenposition, wo, bühne",
        "de, depuis, emplacement, position, lieu, place, où, scène",
        "desde, posición, lugar, ubicación, sitio, dónde, escenario",
        fill_down=True,
    ),
    _column(
        "source",
        "mic, mics, mic/di, di/mic, mic/line, mic/di/line, mic or di, mic & di, microphone, type,"
        "mic type, input type, signal type, source type, pickup, kind, instrument, signal, di",
        "mikrofon, mikrophon, mikro, mikrofone, mikrofon/di, mikro/di, abnahme, abnahmeart,"
        "signalart, typ, quelle",
        "micro, micros, microphone, micro/di, capteur, captation, prise de son, type",
        "micrófono, micro, microfonía, micrófono/di, micro/di, captación, tipo, fuente",
    ),
    _column(
        "to",
        "destination, destinations, dest, goes to, send to, sent to, ends, end, feeds, routed to,"
        "route to, arrives at, output, out",
        "nach, ziel, ziele, geht an, an, empfänger, wohin, ausgang",
        "vers, destinations, destinataires, sortie, va vers",
        "hacia, destino, destinos, salida, va a",
        fill_down=True,
    ),
    _column(
        "pair",
        "pair with, paired with, partner, other half, stereo pair, stereo with, linked to, link",
        "paar, paar mit, partner, stereopaar, gehört zu",
        "paire, paire avec, jumelage, jumelé à, lié à",
        "par, par con, pareja, enlazado con",
    ),
    _column(
        "stereo",
        "mono/stereo, stereo/mono, l/r, left/right, side, half",
        "li/re, links/rechts, seite",
        "stéréo, mono/stéréo, g/d, gauche/droite, côté",
        "estéreo, mono/estéreo, i/d, izq/der, lado",
    ),
    _column(
        "group",
        "section, family, subgroup, sub group",
        "gruppe, abteilung, untergruppe",
        "groupe, pupitre, famille, section",
        "grupo, sección, familia",
        fill_down=True,
    ),
    _column(
        "need",
        "importance, priority, must",
        "bedarf, wichtigkeit, priorität, wichtig",
        "besoin, importance, priorité, nécessité",
        "necesidad, importancia, prioridad",
    ),
    _column(
        "act",
        "band, artist, performer, set",
        "auftritt, akt, künstler",
        "acte, artiste, formation",
        "acto, artista, banda",
        fill_down=True,
    ),
    _column(
        "socket",
        "stage socket, box socket, input socket, plugged into, patch, patched to, box input,"
        "physical input",
        "buchse, dose, steckplatz, eingangsbuchse, anschluss",
        "prise, connecteur, entrée physique",
        "toma, conector, entrada física",
    ),
    _column(
        "channel",
        "ch, chan, desk channel, desk ch, mixer channel, mixer ch, console channel, console ch,"
        "strip, desk strip, mixer strip",
        "kanal, pultkanal, mischpultkanal, kanalzug",
        "voie, canal, voie console, voie de console, tranche",
        "canal, canal de mesa, canal mesa",
    ),
    _column("bus", "mix bus, output bus, leaves at, mix", "summe", "départ", "envío"),
    _column("via", "by way of, way", "über, weg", "par câble", "vía, por cable"),
    _column(
        "phantom",
        "48v, +48v, +48, 48, p48, phantom power, phantom 48v, 48v phantom, pp",
        "phantomspeisung, phantomspannung, speisung",
        "fantôme, alimentation fantôme, alim fantôme, alim 48v, alim",
        "fantasma, alimentación fantasma, alimentación phantom, alimentación",
    ),
    _column("minus", "without, mix minus, n-1", "ohne", "sans, moins", "sin, menos"),
    _column("with", "contains, mix of", "mit, enthält", "avec, contient", "con, contiene"),
    _column("never", "not to, must not reach", "nie, niemals, nicht an", "jamais", "nunca"),
    _column("private", "confidential", "privat, vertraulich", "privé, confidentiel", "privado"),
    _column(
        "standby", "backup, back up, stand-in", "ersatz, reserve", "secours", "reserva, respaldo"
    ),
    _column("by", "changed over by, changeover", "durch, umschaltung", "bascule", "conmutación"),
    _column("back-to", "returns, return of, insert return", "zurück zu", "retour de", "retorno de"),
    _column("also", "also at, split, split to", "auch, auch an", "aussi", "también"),
    _column("role", "part, function", "rolle, funktion", "rôle, fonction", "rol, función, papel"),
    _column("spread", "keep apart, kept apart", "verteilen, getrennt", "répartir", "separar"),
    _column("content", "programme", "inhalt", "contenu", "contenido"),
    _column(
        "stand",
        "stands, mic stand, boom, clip, stand/clip",
        "stativ, stative, ständer, mikrofonstativ, mikrostativ, halter",
        "pied, pied de micro, pince",
        "pie, soporte, pie de micro, trípode",
    ),
    _column("colour", "color", "farbe", "couleur", "color"),
    _column(
        "note",
        "notes, comment, comments, remark, remarks, info, misc",
        "bemerkung, bemerkungen, anmerkung, anmerkungen, hinweis, notiz, kommentar",
        "remarque, remarques, observation, observations, commentaire, commentaires",
        "nota, notas, observación, observaciones, comentario, comentarios",
    ),
)

UNIT_COLUMNS: tuple[Column, ...] = (
    _column(
        "name",
        "unit, unit name, device, equipment, item",
        "gerät, gerätename, einheit, bezeichnung",
        "nom, appareil, matériel, unité",
        "nombre, equipo, aparato, unidad",
    ),
    _column(
        "kind", "type, model", "typ, art, modell", "type, modèle, genre", "tipo, modelo, clase"
    ),
    _column(
        "place",
        "location, where, position, stands at",
        "ort, standort, platz, aufstellort",
        "emplacement, lieu, position, où",
        "lugar, ubicación, sitio, posición, dónde",
    ),
    _column(
        "number",
        "no, nr, num, n°, #, unit number, box number, id",
        "nummer, gerätenummer",
        "numéro",
        "número, núm",
    ),
    _column(
        "circuit",
        "mains, mains feed, feed, fed from, supply circuit",
        "stromkreis, kreis",
        "circuit électrique, départ électrique",
        "circuito",
    ),
    _column(
        "label",
        "display name, printed as",
        "beschriftung, etikett",
        "étiquette, libellé",
        "etiqueta, rótulo",
    ),
    _column("rack", "case", "gestell, schrank", "baie", "bastidor, armario"),
    _column("net", "network", "netz, netzwerk", "réseau", "red"),
    _column("ports", "port mode", "anschlüsse", "", "puertos"),
    _column(
        "rate",
        "sample rate, sampling rate",
        "abtastrate, takt",
        "fréquence, fréquence d'échantillonnage",
        "frecuencia, frecuencia de muestreo",
    ),
    _column("mac", "mac address, hardware address", "mac-adresse", "adresse mac", "dirección mac"),
    _column("here", "present, acts, in acts", "anwesend", "présent", "presente"),
    _column("theirs", "guest, guest's, visitor", "fremd, gast", "invité", "invitado, ajeno"),
    _column("muted-by", "muted from", "stumm durch", "coupé par", "silenciado por"),
    _column("meeting", "call", "besprechung, konferenz", "réunion", "reunión"),
    _column(
        "standby", "backup, back up, stand-in", "ersatz, reserve", "secours", "reserva, respaldo"
    ),
    _column("covers", "stands in for, spare for", "ersetzt, ersatz für", "remplace", "sustituye a"),
    _column("by", "changed over by, changeover", "durch, umschaltung", "bascule", "conmutación"),
    _column("power", "powered by, fed by", "speisung, versorgung", "alimentation", "alimentación"),
    _column("sockets-of", "drop box of, sockets from", "buchsen von", "prises de", "tomas de"),
    _column(
        "note",
        "notes, comment, comments, remark, remarks, info",
        "bemerkung, bemerkungen, anmerkung, hinweis, notiz, kommentar",
        "remarque, remarques, observation, observations, commentaire",
        "nota, notas, observación, observaciones, comentario",
    ),
)

#: Columns whose cells are numbers; a heading that could be one of them is settled by its cells.
_NUMBERED = frozenset({"number", "channel", "pair", "bus"})
_IGNORED = re.compile(r"[\s.:;_\-\u2010-\u2015'\"’`´()\[\]*?!]+")
_BRACKETED = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_NUMBERISH = re.compile(r"[^\W\d_]{0,3}\.?\s?\d{1,5}[^\W\d_]?(?:\s?[/+&-]\s?\d{1,5}[^\W\d_]?)?")


def fold_heading(text: str) -> str:
    """Give the form in which two headings are compared.

    NFKC and casefold; accents, blanks, dots, colons, hyphens, quotes and brackets don't count,
    nor a `#` after a word.

    >>> fold_heading(" Ch. No: "), fold_heading("Fantôme"), fold_heading("+48 V"), fold_heading("#")
    ('chno', 'fantome', '+48v', '#')
    """
    # Compatibility decomposition is NFKC with the accents apart, so that they can be dropped.
    apart = unicodedata.normalize("NFKD", text).casefold()
    bare = "".join(mark for mark in apart if not unicodedata.combining(mark))
    folded = _IGNORED.sub("", bare)
    return folded.rstrip("#") or folded[:1]


def is_numberish(text: str) -> bool:
    """Say whether a cell looks like a line's number: `7`, `17L`, `5/6`, `Ch 3`.

    >>> [is_numberish(t) for t in ("7", "17L", "5/6", "Ch 3", "BAND", "48 kHz")]
    [True, True, True, True, False, False]
    """
    return len(text) <= 12 and _NUMBERISH.fullmatch(text) is not None


@lru_cache(maxsize=8)
def _by_word(columns: tuple[Column, ...]) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for column in columns:
        for word in column.words:
            names = found.setdefault(fold_heading(word), [])
            if column.name not in names:
                names.append(column.name)
    return MappingProxyType({word: tuple(names) for word, names in found.items()})


@lru_cache(maxsize=4096)
def could_be(heading: str, columns: tuple[Column, ...]) -> tuple[str, ...]:
    """Give the columns a heading could stand for, the likeliest first; none if unknown.

    Tried whole, then without what stands in brackets, then in its parts if they agree
    (`Kanal / Channel`).

    >>> could_be("Mic / DI", LINE_COLUMNS), could_be("Ch.", LINE_COLUMNS)
    (('source',), ('number', 'channel'))
    >>> could_be("Phantom (if needed)", LINE_COLUMNS), could_be("Ort / Place", LINE_COLUMNS)
    (('phantom',), ('from',))
    """
    if len(heading) > 80:
        return ()
    known = _by_word(columns)
    for form in (heading, _BRACKETED.sub("", heading)):
        if names := known.get(fold_heading(form)):
            return names
    parts = [known.get(fold_heading(part), ()) for part in re.split(r"[/|\n]", heading)]
    return tuple(name for name in parts[0] if all(name in part for part in parts))


def column_of_each(
    choices: Sequence[tuple[str, ...]], numbered: Sequence[bool | None]
) -> dict[int, str]:
    """Give which heading (by its place) stands for which column, each column once.

    `choices` are what each heading could be (`could_be`), `numbered` whether its cells look like
    numbers (None: it has none). A word with two meanings is settled so: first by its cells
    (`Input` over `Kick` is the name, over `1` the number); then headings with one meaning go
    first (beside `Mic`, `Source` is the name); then, from left to right, each takes the first
    column still free, and an earlier one moves over if only that lets a later one in
    (`Ch` alone is the number, beside `No.` it is the desk's channel).

    >>> meanings = [("number", "channel"), ("number", "name"), ("source",)]
    >>> column_of_each(meanings, [True, False, None])
    {2: 'source', 0: 'number', 1: 'name'}
    """
    liked = [_by_cells(names, cells) for names, cells in zip(choices, numbered, strict=True)]
    owner: dict[str, int] = {}
    for place in sorted(range(len(liked)), key=lambda p: (len(liked[p]), p)):
        _seat(place, liked, owner, set())
    names_of = {place: name for name, place in owner.items()}
    return {p: names_of[p] for p in sorted(names_of, key=lambda p: (len(liked[p]), p))}


def _by_cells(names: tuple[str, ...], numbers: bool | None) -> tuple[str, ...]:
    if numbers is None:
        return names
    return tuple(sorted(names, key=lambda name: (name in _NUMBERED) != numbers))


def _seat(
    place: int, liked: Sequence[tuple[str, ...]], owner: dict[str, int], tried: set[str]
) -> bool:
    """Find a column for a heading; the augmenting step of bipartite matching (Kuhn 1955)."""
    for name in liked[place]:
        if name not in owner:
            owner[name] = place
            return True
    for name in liked[place]:
        if name not in tried:
            tried.add(name)
            if _seat(owner[name], liked, owner, tried):
                owner[name] = place
                return True
    return False
