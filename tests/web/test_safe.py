"""Only this computer is answered; nothing outside the show is given out; text is never markup."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from lineproof.web.files import static_files
from lineproof.web.pages import PAGES
from lineproof.web.worked import Worked

from .conftest import Ask, worked_out

EVERY = (
    *(href for _, href in PAGES),
    "/lines/1",
    "/lines?by=unit",
    "/room?cut=box-1&cut=sw-front",
    "/room/broken?cut=desk",
    "/revisions?before=none",
    "/nothing/here",
)


@pytest.mark.parametrize(
    "host",
    ["show.example", "127.0.0.1.show.example", "192.168.1.7:8461", "", "localhost.", "[::2]:8461"],
)
@pytest.mark.parametrize("path", ["/", "/api/ready", "/events", "/static/style.css"])
def test_another_name_than_this_computers_is_turned_away(
    small: Worked, ask: Ask, host: str, path: str
) -> None:
    answer = ask(small).get(path, headers={"Host": host})
    assert answer.status_code == 421
    assert "Harbour" not in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:8461", "localhost", "LOCALHOST:80", "[::1]:8461"])
def test_this_computers_own_names_are_answered(small: Worked, ask: Ask, host: str) -> None:
    assert ask(small).get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("path", [*EVERY, "/api/ready", "/static/main.js", "/api/openapi.json"])
def test_every_answer_carries_the_policy(small: Worked, ask: Ask, path: str) -> None:
    headers = ask(small).get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert "*" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert "access-control-allow-origin" not in headers


@pytest.mark.parametrize("path", EVERY)
def test_pages_hold_no_script_no_style_and_nothing_from_outside(
    small: Worked, ask: Ask, path: str
) -> None:
    text = ask(small).get(path).text
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", text, re.DOTALL)
    assert [inside for inside in scripts if inside] == []
    assert re.findall(r"<style|\sstyle=|\son\w+=|javascript:|<iframe|<object|<embed", text) == []
    assert re.findall(r"(?:src|href|action)=[\"'](?:[a-z]+:|//)[^\"']*", text) == []


def test_what_is_given_out_asks_for_nothing_outside() -> None:
    for name, file in static_files().items():
        if not name.endswith(".ttf"):
            text = file.data.decode().replace("http://www.w3.org/2000/svg", "")
            assert re.findall(r"https?:|url\(\s*[\"']?//", text) == [], name


TRAVERSALS = (
    "/static/..%2f..%2fapp.py",
    "/static/%2e%2e/app.py",
    "/static/../app.py",
    "/papers/file/../show.yaml",
    "/papers/file/%2e%2e%2fshow.yaml",
    "/papers/file//etc/passwd",
    "/papers/picture/..%2f..%2fshow.yaml",
    "/lines/..%2f..%2fshow.yaml",
    "/show.yaml",
    "/plan/draft.json",
    "/revisions?before=../../show&after=none",
)


@pytest.mark.parametrize("path", TRAVERSALS)
def test_no_path_leads_out_of_what_is_meant(small: Worked, ask: Ask, path: str) -> None:
    answer = ask(small).get(path)
    # What only files hold: a comment of the show's, the draft, our source, the system's list.
    for secret in ("mains is for licensed people", '"format"', "from __future__", "root:"):
        assert secret not in answer.text
    assert answer.status_code == (200 if path.startswith("/revisions") else 404)


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE"])
@pytest.mark.parametrize("path", ["/", "/api/ready", "/api/broken", "/papers", "/lines/1"])
def test_nothing_can_be_changed_from_here(small: Worked, ask: Ask, method: str, path: str) -> None:
    assert ask(small).request(method, path).status_code == 405


def test_looking_at_everything_leaves_the_folder_as_it_was(folder: Path, ask: Ask) -> None:
    def sums() -> dict[str, str]:
        return {
            str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest()
            for p in sorted(folder.rglob("*"))
            if p.is_file()
        }

    before = sums()
    client = ask(worked_out(folder))
    for path in (*EVERY, "/papers/file/labels.pdf"):
        client.get(path)
    assert sums() == before


#: What a show's text must never become.
NASTY = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{7*7}}{%raw%}&lt;b&gt;"


def nasty_show(folder: Path) -> None:
    """Put the nasty text wherever a show takes free text."""
    quoted = "'" + NASTY.replace("'", "''") + "'"
    (folder / "show.yaml").write_text(
        f"""\
title: {quoted}
rate: 48 kHz
places:
  stage: {{at: [0, 0, 0], label: {quoted}}}
  front: {{at: [0, 20, 0], label: {quoted}}}
ducts:
  floor: {{between: [stage, front], length: 25 m, label: {quoted}}}
circuits:
  house: {{supply: 230 V, limit: 16 A, label: {quoted}}}
units:
  box-1: {{kind: box-16-8, place: stage, number: 1, circuit: house, label: {quoted}}}
  desk: {{kind: mixer-32, place: front, circuit: house, label: {quoted}}}
  sw-1: {{kind: switch-8, place: stage, circuit: house, label: {quoted}}}
acts:
  early: {{stage: main, label: {quoted}}}
lines: lines.csv
accept: [{{finding: long-lead, of: [1], reason: {quoted}, by: {quoted}}}]
{quoted}: {quoted}
""",
        "utf-8",
    )
    cell = '"' + NASTY.replace('"', '""') + '"'
    (folder / "lines.csv").write_text(
        f"number,act,name,from,source,to,group,stand,note,{cell}\n"
        f"1,early,{cell},stage,dynamic mic,desk,{cell},{cell},{cell},{cell}\n"
        f"2,early,{cell},stage,{cell},desk,{cell},{cell},{cell},{cell}\n"
        f"3,early,Third,{cell},dynamic mic,{cell},,,,\n",
        "utf-8",
    )


@pytest.fixture
def nasty(tmp_path: Path) -> Worked:
    """Give a show whose every text is markup, planned as far as it can be."""
    from lineproof.cli.main import main

    nasty_show(tmp_path)
    main(["plan", str(tmp_path), "--quiet"])
    return worked_out(tmp_path)


def test_text_of_a_show_is_never_markup_on_any_page(nasty: Worked, ask: Ask) -> None:
    client = ask(nasty)
    said = 0
    paths = [*EVERY, "/lines/early/1", "/lines/early/2", f"/lines?find={NASTY[:90]}"]
    paths += [f"/room?cut={NASTY[:90]}", f"/lines/{NASTY[:60]}", f"/revisions?before={NASTY[:90]}"]
    sheets = client.get("/api/papers").json()["sheets"]
    paths += [sheet["href"] for sheet in sheets]
    for path in paths:
        text = client.get(path).text
        assert "<script>alert" not in text, path
        assert "<img src=x" not in text, path
        assert not re.search(r"<[^>]+\sonerror=", re.sub(r'"[^"]*"', '""', text)), path
        assert "&gt;49" not in text, path
        said += text.count("&lt;script&gt;")
    assert said > 40


def test_a_picture_of_the_paper_holds_no_markup_of_a_show(nasty: Worked, ask: Ask) -> None:
    client = ask(nasty)
    pictures = re.findall(r"/papers/picture/[^\"]+", client.get("/papers?sheet=ways").text)
    pictures += ["/papers/picture/stage"]
    drawn = [client.get(p.replace("&amp;", "&")) for p in pictures]
    assert [a.status_code for a in drawn if a.status_code != 200] == []
    assert all(a.headers["content-type"] == "image/svg+xml" for a in drawn)
    # Each is a drawing still, and brings its letters along: it may ask for nothing.
    for each in drawn:
        root = ET.fromstring(each.text)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        style = root.findtext("{http://www.w3.org/2000/svg}style") or ""
        assert re.findall(r"url\((.{0,20})", style) == ["data:font/ttf;base64"] * 2
    assert not any("<script" in a.text or "<img" in a.text for a in drawn)


def test_what_is_not_there_is_told_in_words(small: Worked, ask: Ask) -> None:
    client = ask(small)
    assert "Nothing has this address." in client.get("/show.yaml").text
    assert "Nothing can be changed here" in client.post("/lines").text


def test_a_row_is_shown_only_from_inside_the_folder(tmp_path: Path) -> None:
    from lineproof.base.where import Where
    from lineproof.web.views.parts import Rows

    (tmp_path / "show").mkdir()
    (tmp_path / "secret.csv").write_text("the secret\n", "utf-8")
    (tmp_path / "show" / "link.csv").symlink_to(tmp_path / "secret.csv")
    rows = Rows(tmp_path / "show")
    for file in ("../secret.csv", "link.csv", str(tmp_path / "secret.csv"), "a\0.csv"):
        assert rows.row(Where(file=file, row=1)) == ""


def test_a_mistake_of_ours_is_told_in_a_sentence(small: Worked, ask: Ask, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    def broken_view(*_: object, **__: object) -> None:
        raise RuntimeError("the view fell over")

    monkeypatch.setattr("lineproof.web.app.drawn", broken_view)
    answer = ask(small).get("/drill")
    assert answer.status_code == 500
    assert answer.text.startswith("This is a mistake of ours (RuntimeError: the view fell over).")
    assert "Traceback" not in answer.text
    assert "content-security-policy" in answer.headers
