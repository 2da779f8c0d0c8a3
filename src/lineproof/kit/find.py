"""The kind of source that somebody's words in a list mean."""

from __future__ import annotations

from lineproof.kit.kinds import Kit, Source
from lineproof.kit.tokens import word_tokens

#: Nobody writes a source in more words; a whole page pasted into a cell must not take minutes.
MOST_WORDS = 64


def find_source(kit: Kit, text: str) -> Source | None:
    """Give the source that `text` names, or None if it names none we know.

    It may stand inside longer text. When several are named, one goes `before` another where the
    catalogue says so (a radio link before the capsule), then the longest words win, then the
    first in the text.
    """
    found = _named(kit, word_tokens(text)[:MOST_WORDS])
    beaten = {name for source, _, _ in found for name in source.before}
    standing = [hit for hit in found if hit[0].name not in beaten]
    if not standing:
        return None
    return max(standing, key=lambda hit: (hit[1], -hit[2]))[0]


def _named(kit: Kit, tokens: tuple[str, ...]) -> list[tuple[Source, int, int]]:
    """Give each source named in the tokens, with the length of its words and where they start.

    Words inside longer ones don't count: in "passive di" there is no other DI.
    """
    phrases = kit.phrases
    hits: list[tuple[int, int, Source, int]] = []
    for start in range(len(tokens)):
        for end in range(start + 1, min(start + kit.longest_phrase, len(tokens)) + 1):
            source = phrases.get(tokens[start:end])
            if source is not None:
                hits.append((start, end, source, sum(map(len, tokens[start:end]))))
    return [
        (source, length, start)
        for start, end, source, length in hits
        if not any(s <= start and end <= e and e - s > end - start for s, e, _, _ in hits)
    ]
