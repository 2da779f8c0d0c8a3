"""The words and marks of a table's rows: what counts as blank, as a section, as a date."""

from __future__ import annotations

import re
from collections.abc import Sequence

from lineproof.base.names import normal
from lineproof.show.words import NOTHING, UNDECIDED

_NAMED_SPANS = 10
_LIST_WORDS = UNDECIDED | NOTHING | {"spare"}
_DECORATION = "-=*_~+#<>|.:–—─━═•· \t"
_RULED = re.compile(r"[-=*_~–—─━═]{2,}")
# Bytes that made no letter are carried as lone surrogates, which no other file can hold.
_INVISIBLE = {
    **dict.fromkeys(map(ord, "\u200b\u2060\ufeff\u00ad")),
    **dict.fromkeys(range(0xD800, 0xE000), "\ufffd"),
}
_ACT_WORD = re.compile(r"(?:act|akt|acte|acto|auftritt|set)\b", re.IGNORECASE)
_MONTH = (
    "(?:jan|feb|fév|mar|mär|mrz|apr|abr|avr|may|mai|jun|jui|jul|aug|aoû|ago|sep|oct|okt|nov"
    r"|dec|dez|déc|dic|ene)[^\W\d_]{0,7}\.?"
)
_DATE = re.compile(
    r"\d{4}-\d\d-\d\d(?:T.*)?"  # 2024-06-05
    r"|\d{1,2}([./])\d{1,2}\1\d{2,4}"  # 5.6.2024
    rf"|\d{{1,2}}[.\- ]+{_MONTH}(?:[\- ]\d{{2,4}})?"  # 5. Jun
    rf"|{_MONTH}[\- ]\d{{1,4}}",  # Jun-05
    re.IGNORECASE,
)


def clean(text: str) -> str:
    """Give a cell's text: NFC, no blanks around it, no invisible marks, newlines as one mark."""
    if text.isascii() and "\r" not in text:
        return text.strip()
    return normal(text.translate(_INVISIBLE).replace("\r\n", "\n").replace("\r", "\n"))


def is_list_word(text: str) -> bool:
    """Say whether a text is a word of the list, as `tbc`, `n/a` and `spare` are."""
    return text.casefold() in _LIST_WORDS


def is_ruled(text: str) -> bool:
    """Say whether a text is only a ruled line."""
    return _RULED.fullmatch(text) is not None


def is_date(text: str) -> bool:
    """Say whether a text is a date.

    >>> is_date("5. Jun"), is_date("Jun-05"), is_date("2024-06-05"), is_date("5/6")
    (True, True, True, False)
    """
    return len(text) <= 30 and _DATE.fullmatch(text) is not None


def undecorated(text: str) -> str:
    """Give a section's own words.

    >>> undecorated("--- BAND ---"), undecorated("* Strings *")
    ('BAND', 'Strings')
    """
    return text.strip(_DECORATION)


def section_column(text: str) -> str:
    """Give the column a section row over the whole width speaks for: `act`, else `group`.

    >>> section_column("Act 2: the harbour"), section_column("BRASS")
    ('act', 'group')
    """
    return "act" if _ACT_WORD.match(text) else "group"


def rows_in_words(rows: Sequence[int]) -> str:
    """Name rows as people do, at most ten spans of them.

    >>> rows_in_words([5]), rows_in_words([5, 6]), rows_in_words([8, 9, 10, 13])
    ('row 5', 'rows 5 and 6', 'rows 8 to 10 and 13')
    """
    spans: list[list[int]] = []
    for row in sorted(set(rows)):
        if spans and row == spans[-1][-1] + 1:
            spans[-1].append(row)
        else:
            spans.append([row])
    words: list[str] = []
    for span in spans[:_NAMED_SPANS]:
        words += [f"{span[0]} to {span[-1]}"] if len(span) > 2 else [str(row) for row in span]
    if rest := sum(len(span) for span in spans[_NAMED_SPANS:]):
        words.append(f"{rest} more")
    joined = words[0] if len(words) == 1 else ", ".join(words[:-1]) + f" and {words[-1]}"
    return f"{'row' if len(set(rows)) == 1 else 'rows'} {joined}"
