"""The pages hold together: links lead somewhere, folders and changes are told."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tools.pages import pages as pages_from_source

LINK = re.compile(r"\[[^\]]*\]\(([^)\s]+)\)")
CODE = re.compile(r"^```.*?^```|`[^`\n]*`", re.DOTALL | re.MULTILINE)


def pages(root: Path) -> list[Path]:
    """Give the pages people read."""
    found = [*root.glob("*.md"), *root.glob("changes/*.md"), *root.glob("docs/**/*.md")]
    return sorted(found)


def anchors(text: str) -> set[str]:
    """Give the names by which headings are linked to: small letters, hyphens for blanks."""
    headings = re.findall(r"^#+ +(.+?) *$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", each.casefold()).replace(" ", "-") for each in headings}


def broken_links(page: Path) -> list[str]:
    """Give the links of a page that lead to no file of ours, or to no heading in it."""
    broken = []
    for link in LINK.findall(CODE.sub("", page.read_text("utf-8"))):
        if re.match(r"[a-z]+:", link):
            continue
        file, _, anchor = link.partition("#")
        target = page.parent / file if file else page
        headed = target.suffix == ".md" and target.is_file()
        if not target.exists() or (
            anchor and not (headed and anchor in anchors(target.read_text("utf-8")))
        ):
            broken.append(f"{page.name}: {link}")
    return broken


def test_links_lead_somewhere(root: Path) -> None:
    assert [link for page in pages(root) for link in broken_links(page)] == []


def test_a_link_that_leads_nowhere_is_found(tmp_path: Path) -> None:
    (tmp_path / "there.md").write_text("# A page, here\n", "utf-8")
    page = tmp_path / "page.md"
    page.write_text(
        "[a](there.md) [b](there.md#a-page-here) [c](gone.md) [d](there.md#no) `[e](code.md)`",
        "utf-8",
    )
    assert broken_links(page) == ["page.md: gone.md", "page.md: there.md#no"]


def test_every_folder_of_the_source_has_its_sentence(root: Path) -> None:
    told = (root / "docs/contributing.md").read_text("utf-8")
    folders = {
        path.name
        for path in (root / "src/lineproof").iterdir()
        if path.is_dir() and path.name != "__pycache__"
    }
    assert sorted(name for name in folders if f"`{name}/`" not in told) == []


def fragments(root: Path) -> list[Path]:
    """Give the changes told since the last release."""
    return sorted(path for path in (root / "changes").iterdir() if path.name != "README.md")


def is_one_sentence(text: str) -> bool:
    """Say whether a text is one sentence: a capital first, one full stop, at the end."""
    sentence = " ".join(text.split())
    return (
        re.fullmatch(r"[^a-z\W].*[.!?]", sentence) is not None
        and re.search(r"[.!?]\s+[^a-z\W]", sentence) is None
    )


def test_each_change_is_told_in_one_sentence(root: Path) -> None:
    wrong = [
        path.name
        for path in fragments(root)
        if path.suffix != ".md" or not is_one_sentence(path.read_text("utf-8"))
    ]
    assert wrong == []


@pytest.mark.parametrize(
    ("text", "one"),
    [
        ("The draft keeps its sockets.", True),
        ("The draft, e.g. of\na hall, keeps its sockets.\n", True),
        ("The draft keeps its sockets. Labels too.", False),
        ("The draft keeps its sockets", False),
        ("the draft keeps its sockets.", False),
        ("", False),
    ],
)
def test_what_counts_as_one_sentence(text: str, one: bool) -> None:
    assert is_one_sentence(text) is one


def test_records_are_numbered_without_a_gap_and_open_with_their_title(root: Path) -> None:
    records = sorted((root / "docs/decisions").glob("*.md"))
    assert [path.name[:4] for path in records] == [f"{n:04}" for n in range(1, len(records) + 1)]
    opened = [path.read_text("utf-8").startswith(f"# {int(path.name[:4])}. ") for path in records]
    assert all(opened)


def test_the_reference_is_as_the_source_has_it(root: Path) -> None:
    for name, text in pages_from_source().items():
        page = root / "docs/reference" / name
        assert page.is_file(), f"{name} is missing: make docs"
        assert page.read_text("utf-8") == text, f"{name} is stale: make docs"
