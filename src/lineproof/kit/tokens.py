"""The words of a text, in the form in which two lists share them."""

from __future__ import annotations

import re
import unicodedata

# "D.I." and "d. i." are one word; "2x DI" and "3 × cond" are that source, several times.
_DOTTED = re.compile(r"\b(\w)\.\s?(?=\w\b)")
_TIMES = re.compile(r"\b\d+\s*[x×]\s*(?=\D)")
_WORD = re.compile(r"\w+")


def word_tokens(text: str) -> tuple[str, ...]:
    """Give the words of a text as two lists would share them: no case, marks or accents.

    NFKC first, so that full-width letters and no-break blanks are plain ones; accents go because
    lists are typed in a hurry.

    >>> word_tokens("2x D.I. (aktiv)"), word_tokens("Inalámbrico/HF")
    (('di', 'aktiv'), ('inalambrico', 'hf'))
    """
    plain = unicodedata.normalize("NFKC", text).casefold().replace("_", " ")
    bare = "".join(c for c in unicodedata.normalize("NFD", plain) if not unicodedata.combining(c))
    return tuple(_WORD.findall(_DOTTED.sub(r"\1", _TIMES.sub(" ", bare))))
