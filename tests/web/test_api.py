"""The API gives what the pages show, and describes itself."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict, is_dataclass
from html.parser import HTMLParser

import pytest

from lineproof.web.views.broken import broken
from lineproof.web.views.drill import drill
from lineproof.web.views.gains import gains
from lineproof.web.views.line import line_page
from lineproof.web.views.lines import lines
from lineproof.web.views.nets import nets
from lineproof.web.views.ready import ready
from lineproof.web.views.rescue import rescue_view
from lineproof.web.views.revisions import revisions_page
from lineproof.web.views.room import room
from lineproof.web.worked import Worked

from .conftest import Ask

VIEWS: dict[str, Callable[[Worked], object]] = {
    "/api/ready": ready,
    "/api/lines": lines,
    "/api/lines/1": lambda worked: line_page(worked, "1"),
    "/api/room?cut=box-1": lambda worked: room(worked, ["box-1"]),
    "/api/broken?cut=box-1&cut=desk": lambda worked: broken(worked, ["box-1", "desk"]),
    "/api/rescue?cut=box-1&cut=desk": lambda worked: rescue_view(worked, ["box-1", "desk"]),
    "/api/drill": drill,
    "/api/gains": gains,
    "/api/nets": nets,
    "/api/revisions": revisions_page,
}


@pytest.mark.parametrize("path", VIEWS)
def test_the_api_gives_what_the_page_is_drawn_from(small: Worked, ask: Ask, path: str) -> None:
    view = VIEWS[path](small)
    assert is_dataclass(view)
    assert not isinstance(view, type)
    answer = ask(small).get(path)
    assert answer.status_code == 200
    # The server numbers its values anew; all else is the same.
    told, wanted = answer.json(), json.loads(json.dumps(asdict(view)))
    for each in (told, wanted):
        each.pop("serial", None)
        each.get("head", {}).pop("serial", None)
        each.get("broken", {}).pop("serial", None)
    assert told == wanted


class Words(HTMLParser):
    """Keeps what a person would read of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def words(page: str) -> str:
    parser = Words()
    parser.feed(page)
    return " ".join(" ".join(parser.text).split())


def test_pages_hold_the_words_of_their_data(small: Worked, ask: Ask) -> None:
    client = ask(small)
    page = words(client.get("/lines").text)
    for group in lines(small).groups:
        for row in group.rows:
            assert f"{row.key} {row.name}" in page
            assert row.plugged in page
            assert row.arrives in page
    assert ready(small).sentence in words(client.get("/").text)
    page = words(client.get("/nets").text)
    for net in nets(small).nets:
        for stream in net.streams:
            assert stream.to in page
            assert stream.worst in page
    page = words(client.get("/drill").text)
    assert all(row.fault in page for row in drill(small).rows)
    page = words(client.get("/room?cut=box-1").text)
    assert broken(small, ["box-1"]).sentence in page


def test_it_describes_every_answer_by_openapi(small: Worked, ask: Ask) -> None:
    told = ask(small).get("/api/openapi.json").json()
    assert told["openapi"].startswith("3.")
    paths = told["paths"]
    assert {path.partition("{")[0].rstrip("/") for path in paths} == {
        path.partition("?")[0].removesuffix("/1") for path in VIEWS
    } | {"/api/papers"}
    for path, methods in paths.items():
        # All only read, but that what would help is worked out when somebody asks for it.
        assert list(methods) == (["get", "post"] if path == "/api/gains" else ["get"]), path
        (ok,) = methods["get"]["responses"]["200"]["content"].values()
        assert ok["schema"]["$ref"].startswith("#/components/schemas/"), path


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/api/lines/99", 404),
        ("/api/nothing", 404),
        ("/api/lines?by=" + "x" * 300, 422),
        ("/api/broken?" + "&".join(["cut=box-1"] * 30), 422),
        ("/api/broken?cut=nothing", 200),
    ],
)
def test_what_can_not_be_answered_is_told_as_json(
    small: Worked, ask: Ask, path: str, status: int
) -> None:
    answer = ask(small).get(path)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/json"
