"""The same data that the pages show, as JSON, described by OpenAPI at `/api/openapi.json`."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request

from lineproof.web.breaking import MOST_CUTS
from lineproof.web.safe import asked_from_here
from lineproof.web.turns import Turns
from lineproof.web.views.broken import Broken, broken
from lineproof.web.views.drill import DrillPage, drill
from lineproof.web.views.gains import GainsView, gains
from lineproof.web.views.line import LinePage, line_page
from lineproof.web.views.lines import LinesPage, lines
from lineproof.web.views.nets import NetsPage, nets
from lineproof.web.views.papers import PapersPage, Wish, papers
from lineproof.web.views.ready import Ready, ready
from lineproof.web.views.rescue import RescueView, rescue_view
from lineproof.web.views.revisions import RevisionsPage, revisions_page
from lineproof.web.views.room import RoomPage, room
from lineproof.web.watch import Watch

#: What people type is short; longer is no name of anything.
Word = Annotated[str, Query(max_length=200)]
Cuts = Annotated[list[str], Query(max_length=MOST_CUTS, description="names of what is broken")]


#: What a page of another site is told.
NOT_FROM_HERE = "Only a page of this server may ask for that."


def api(watch: Watch, turns: Turns) -> APIRouter:
    """Give every route of the API. All of them only read."""
    router = APIRouter(prefix="/api")
    _of_lines(router, watch)
    _of_faults(router, watch)
    _of_rescues(router, watch, turns)
    _of_plan(router, watch)
    return router


def _of_lines(router: APIRouter, watch: Watch) -> None:
    @router.get("/ready")
    def get_ready() -> Ready:
        """Give whether the doors can open, and what keeps them shut."""
        return ready(watch.ready())

    @router.get("/lines")
    def get_lines(by: Word = "act", find: Word = "") -> LinesPage:
        """Give the list as planned, put together by act, place, unit or group."""
        return lines(watch.ready(), by, find)

    @router.get("/lines/{key:path}", responses={404: {"description": "no such line"}})
    def get_line(key: str) -> LinePage:
        """Give one line: its ways, its findings, what silences it."""
        found = line_page(watch.ready(), key)
        if found is None:
            raise HTTPException(404, "there is no such line")
        return found


def _of_faults(router: APIRouter, watch: Watch) -> None:
    @router.get("/room")
    def get_room(cut: Cuts = [], find: Word = "") -> RoomPage:  # noqa: B006 - FastAPI copies it
        """Give the room drawn to scale, and what is broken in it."""
        return room(watch.ready(), cut, find)

    @router.get("/broken")
    def get_broken(cut: Cuts = []) -> Broken:  # noqa: B006 - as above
        """Give what breaking things does: which lines are silent where."""
        return broken(watch.ready(), cut)

    @router.get("/drill")
    def get_drill() -> DrillPage:
        """Give every fault that was tried, worst first."""
        return drill(watch.ready())


def _of_rescues(router: APIRouter, watch: Watch, turns: Turns) -> None:
    @router.get("/rescue")
    async def get_rescue(request: Request, cut: Cuts = []) -> RescueView:  # noqa: B006 - as above
        """Give the rescue from what is broken; in a large show it takes seconds."""
        return await turns.made(request, lambda: rescue_view(watch.ready(), cut))

    @router.get("/gains")
    def get_gains() -> GainsView:
        """Give what single improvements would bring, once somebody has asked for it."""
        return gains(watch.ready())

    @router.post("/gains", responses={403: {"description": "a page of another site asks"}})
    def post_gains(request: Request) -> GainsView:
        """Have it worked out what would help; it takes minutes, and `GET` tells how it stands."""
        if not asked_from_here(request.headers):
            raise HTTPException(403, NOT_FROM_HERE)
        watch.want_gains()
        return gains(watch.ready())


def _of_plan(router: APIRouter, watch: Watch) -> None:
    @router.get("/nets")
    def get_nets() -> NetsPage:
        """Give switches, streams, addresses, loads, delay bounds, buffers, clock."""
        return nets(watch.ready())

    @router.get("/papers")
    def get_papers(
        reader: Annotated[str, Query(alias="for", max_length=20)] = "crew",
        name: Word = "",
        paper: Word = "a4",
        language: Word = "en",
        sheet: Word = "",
    ) -> PapersPage:
        """Give the sheets of one reader, and one of them in full."""
        wish = Wish(reader=reader, name=name, paper=paper, language=language)
        return papers(watch.ready(), wish, sheet)

    @router.get("/revisions")
    def get_revisions(before: Word = "", after: Word = "") -> RevisionsPage:
        """Give the issued revisions, and what differs between two plans."""
        return revisions_page(watch.ready(), before, after)
