"""A large show opens at once with the pages of before, as long as its files are the same."""

from __future__ import annotations

import gzip
import json
import shutil
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

import lineproof
from lineproof.web.app import app
from lineproof.web.kept import PLAIN, code_mark, keep, kept
from lineproof.web.watch import Watch, print_of
from lineproof.web.worked import Worked

from .conftest import Ask, worked_out


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give the user's cache folder, one of the test's own."""
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache"


def unread(folder: Path, pages: dict[str, str]) -> TestClient:
    """Give a client of a server that has not read the show yet."""
    return TestClient(app(Watch(folder, kept=pages)), base_url="http://127.0.0.1")


def test_the_pages_of_before_are_shown_until_the_show_is_read(
    folder: Path, small: Worked, ask: Ask
) -> None:
    worked = worked_out(folder)
    keep(worked, print_of(folder))
    pages = dict(kept(folder, print_of(folder)))
    assert set(pages) == set(PLAIN)
    client, fresh = unread(folder, pages), ask(worked)
    for path in PLAIN:
        before, now = client.get(path), fresh.get(path)
        assert before.status_code == 200
        assert before.text.partition("<main")[2] == now.text.partition("<main")[2]
        assert before.headers["content-security-policy"]


@pytest.mark.parametrize("file", ["lines.csv", "show.yaml", "plan/issued/1.json", "new.csv"])
def test_they_do_not_count_once_anything_in_the_folder_differs(folder: Path, file: str) -> None:
    keep(worked_out(folder), print_of(folder))
    with (folder / file).open("a", encoding="utf-8") as changed:
        changed.write("\n")
    assert kept(folder, print_of(folder)) == {}


def test_they_do_not_count_once_anything_in_the_program_differs(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep(worked_out(folder), print_of(folder))
    assert kept(folder, print_of(folder)) != {}
    package = Path(shutil.copytree(Path(lineproof.__file__).parent, tmp_path / "lineproof"))
    monkeypatch.setattr("importlib.resources.files", lambda name: package)
    code_mark.cache_clear()
    # Copied with its times, it is the same program; a template that is saved again makes another.
    assert kept(folder, print_of(folder)) != {}
    (package / "web" / "templates" / "ready.html").touch()
    code_mark.cache_clear()
    assert kept(folder, print_of(folder)) == {}
    monkeypatch.undo()
    code_mark.cache_clear()


def test_what_is_broken_or_of_another_version_counts_as_nothing(folder: Path, cache: Path) -> None:
    keep(worked_out(folder), print_of(folder))
    (path,) = cache.rglob("*.gz")
    good = json.loads(gzip.decompress(path.read_bytes()))
    assert path.parent.stat().st_mode & 0o077 == 0
    for bad in (
        b"",
        b"\x1f\x8b",
        gzip.compress(b"[]"),
        gzip.compress(b"\xff"),
        gzip.compress(json.dumps({**good, "made by": "0"}).encode()),
        gzip.compress(json.dumps({**good, "pages": [1]}).encode()),
    ):
        path.write_bytes(bad)
        assert kept(folder, print_of(folder)) == {}


def test_without_them_a_page_says_that_the_show_is_being_read(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lineproof.web.watch.PAGE_S", 0.0)
    client = unread(folder, {})
    for path in ("/", "/lines/1", "/room?cut=box-1"):
        answer = client.get(path)
        assert answer.status_code == 200
        assert "The show is being read" in answer.text


def test_a_cache_that_can_not_be_written_stops_nothing(folder: Path, cache: Path) -> None:
    cache.write_text("a file where a folder should be", "utf-8")
    keep(worked_out(folder), print_of(folder))
    assert kept(folder, print_of(folder)) == {}
