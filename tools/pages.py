"""The pages of docs/reference, made from the source's own declarations; run inside .venv."""

from __future__ import annotations

import importlib
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from lineproof.base.rule import Rule
from lineproof.kit.explain import kit_page
from lineproof.kit.load import load_kit
from lineproof.show.words import SECTIONS, Word
from tools.shell import ROOT, say

SOURCE = ROOT / "src"
FOLDER = ROOT / "docs" / "reference"

MADE = "<!-- Made by `make docs` from the source. Change it there. -->"


def main(arguments: Sequence[str]) -> int:
    """Write every page that differs; with `--check` only say which, and give 1 if any does."""
    stale = [name for name, text in pages().items() if _on_disk(name) != text]
    for name in stale:
        if "--check" in arguments:
            say(f"docs/reference/{name} is not as the source has it; `make docs` makes it anew")
            continue
        FOLDER.mkdir(parents=True, exist_ok=True)
        (FOLDER / name).write_text(pages()[name], "utf-8")
        say(f"docs/reference/{name} written")
    return int(bool(stale) and "--check" in arguments)


def _on_disk(name: str) -> str:
    path = FOLDER / name
    return path.read_text("utf-8") if path.is_file() else ""


def pages() -> Mapping[str, str]:
    """Give the text of each page by its file's name."""
    return {name: make() for name, make in PAGES.items()}


def show_page() -> str:
    """Give the table of every key of the show file."""
    head = f"# The words of a show\n\n{MADE}\n\nWhat a key means, what it holds, and who reads it."
    parts = [head]
    for section, words in SECTIONS.items():
        rows = ((_key(word), word.meaning, _holds(word), _reader(word)) for word in words.values())
        title = "The show itself" if section == "show" else f"`{section}`"
        parts.append(f"## {title}\n\n{table(('key', 'meaning', 'holds', 'read by'), rows)}")
    return "\n\n".join(parts) + "\n"


def _key(word: Word) -> str:
    return f"`{word.key}`" + (" (needed)" if word.needed else "")


def _holds(word: Word) -> str:
    return word.expected() + (f"; else {word.default}" if word.default else "")


def _reader(word: Word) -> str:
    return word.reader or "not yet used"


def rules_page() -> str:
    """Give every rule, by part and in its part's own order."""
    parts = [f"# What Lineproof finds\n\n{MADE}"]
    for part, rules in rules_by_part():
        rows = ((f"`{r.name}`", r.grade.value, r.why, r.do, r.source) for r in rules)
        heads = ("rule", "grade", "why it matters on site", "what to do", "source")
        parts.append(f"## {part}\n\n{table(heads, rows)}")
    return "\n\n".join(parts) + "\n"


def rules_by_part() -> Iterator[tuple[str, tuple[Rule, ...]]]:
    """Give each part with the rules of its modules; a rule listed twice is given once."""
    found: dict[str, dict[Rule, None]] = {}
    for path in sorted((SOURCE / "lineproof").rglob("*.py")):
        # Only what lists rules is loaded: the rest takes seconds, and has none.
        if re.search(r"^RULES\b", path.read_text("utf-8"), re.MULTILINE):
            name = ".".join(path.relative_to(SOURCE).with_suffix("").parts)
            rules = importlib.import_module(name.removesuffix(".__init__")).RULES
            found.setdefault(name.split(".")[1], {}).update(dict.fromkeys(rules))
    return ((part, tuple(rules)) for part, rules in found.items())


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    r"""Give a table for a page; a bar in a cell is kept from ending it.

    >>> print(table(("key", "holds"), [("`to`", "desk x|y")]))
    | key | holds |
    |---|---|
    | `to` | desk x\|y |
    """
    cells = [heads, ["---"] * len(heads), *rows]
    first, rule, *rest = (
        [cell.replace("|", "\\|").replace("\n", " ") for cell in row] for row in cells
    )
    return "\n".join([_row(first), "|" + "|".join(rule) + "|", *(_row(row) for row in rest)])


def _row(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"


PAGES: Mapping[str, Callable[[], str]] = MappingProxyType(
    {"show.md": show_page, "rules.md": rules_page, "kinds.md": lambda: kit_page(load_kit())}
)

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
