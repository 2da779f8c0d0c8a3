"""The server: pages and API over one watched folder. It only reads, and works out nothing."""

from __future__ import annotations

import mimetypes
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from types import MappingProxyType
from typing import Annotated

from anyio import to_thread
from fastapi import FastAPI, Query, Request
from fastapi.responses import (
    HTMLResponse,
    JSONResponse,
    RedirectResponse,
    Response,
    StreamingResponse,
)
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from lineproof import __version__
from lineproof.base.errors import LineproofError
from lineproof.web.api import NOT_FROM_HERE, Cuts, Word, api
from lineproof.web.files import static_files, with_letters
from lineproof.web.follow import events
from lineproof.web.kept import PLAIN
from lineproof.web.pages import PAGES, drawn, missing, page
from lineproof.web.safe import OnlyHere, asked_from_here
from lineproof.web.turns import Gone, Turns
from lineproof.web.views.broken import broken
from lineproof.web.views.line import line_page
from lineproof.web.views.lines import lines
from lineproof.web.views.papers import Wish, file_of, papers, picture_of
from lineproof.web.views.parts import head
from lineproof.web.views.rescue import rescue_view
from lineproof.web.views.revisions import revisions_page
from lineproof.web.views.room import room
from lineproof.web.views.room_picture import PICTURE, mark_of, named_picture
from lineproof.web.watch import StillReading, Watch

#: A static file's address changes with the file, so it may be kept.
KEEP = {"Cache-Control": "max-age=31536000, immutable"}

#: A picture waits so long for the show to be read, while its page is there already.
PICTURE_S = 30.0
#: So many answers are made side by side; the rest wait their turn.
AT_ONCE = 6
#: What a page says where an address leads nowhere, or more is asked than to be shown something.
TOLD = MappingProxyType(
    {404: "Nothing has this address.", 405: "Nothing can be changed here: pages only show."}
)


def app(watch: Watch) -> FastAPI:
    """Give the server of one folder; nothing of it changes the folder."""
    made = FastAPI(
        title="Lineproof",
        version=__version__,
        description="What the pages of `lineproof open` show, as data. Only reads.",
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=_few_at_once,
    )
    turns = Turns()
    made.include_router(api(watch, turns))
    _pages(made, watch)
    _pages_of_faults(made, watch, turns)
    _gains(made, watch)
    _picture(made, watch)
    _papers(made, watch)
    _rest(made, watch)
    _not_shown(made, watch)
    made.add_middleware(GZipMiddleware, minimum_size=800)
    made.add_middleware(OnlyHere)
    return made


@asynccontextmanager
async def _few_at_once(_: FastAPI) -> AsyncIterator[None]:
    """Let few answers be made side by side: on two cores more only take memory, each its own."""
    to_thread.current_default_thread_limiter().total_tokens = AT_ONCE
    yield


def _pages(made: FastAPI, watch: Watch) -> None:
    @made.get("/", include_in_schema=False)
    def get_ready() -> HTMLResponse:
        return _plain(watch, "/")

    @made.get("/lines", include_in_schema=False)
    def get_lines(by: Word = "act", find: Word = "") -> HTMLResponse:
        if by == "act" and not find:
            return _plain(watch, "/lines")
        view = lines(watch.shown(), by, find)
        return page("lines.html", view, here="/lines", boot=watch.boot)

    @made.get("/lines/{key:path}", include_in_schema=False)
    def get_line(key: str) -> HTMLResponse:
        worked = watch.shown()
        view = line_page(worked, key)
        if view is None:
            return missing(head(worked), f"There is no line {key[:80]!r}.", boot=watch.boot)
        return page("line.html", view, here="/lines", boot=watch.boot)


def _pages_of_faults(made: FastAPI, watch: Watch, turns: Turns) -> None:
    @made.get("/room", include_in_schema=False)
    def get_room(
        cut: Cuts = [],  # noqa: B006 - FastAPI copies it
        find: Word = "",
        rescue: bool = False,
    ) -> HTMLResponse:
        if not cut and not find:
            return _plain(watch, "/room")
        view = room(watch.shown(), cut, find, rescue=rescue)
        return page("room.html", view, here="/room", boot=watch.boot)

    @made.get("/room/rescue", include_in_schema=False)
    async def get_rescue(request: Request, cut: Cuts = []) -> HTMLResponse:  # noqa: B006 - as above
        def text() -> str:
            return drawn("rescue.html", rescue=rescue_view(watch.shown(), cut), ask="")

        return HTMLResponse(await turns.made(request, text))

    @made.get("/room/broken", include_in_schema=False)
    def get_broken(cut: Cuts = [], soon: bool = False) -> HTMLResponse:  # noqa: B006 - as above
        return HTMLResponse(drawn("broken.html", broken=broken(watch.shown(), cut, soon=soon)))

    @made.get("/drill", include_in_schema=False)
    def get_drill() -> HTMLResponse:
        return _plain(watch, "/drill")

    @made.get("/nets", include_in_schema=False)
    def get_nets() -> HTMLResponse:
        return _plain(watch, "/nets")

    @made.get("/revisions", include_in_schema=False)
    def get_revisions(before: Word = "", after: Word = "") -> HTMLResponse:
        view = revisions_page(watch.shown(), before, after)
        return page("revisions.html", view, here="/revisions", boot=watch.boot)


def _gains(made: FastAPI, watch: Watch) -> None:
    @made.post("/drill/gains", include_in_schema=False)
    def post_gains(request: Request) -> Response:
        if not asked_from_here(request.headers):
            return missing(head(watch.now), NOT_FROM_HERE, boot=watch.boot, status=403)
        watch.want_gains()
        return RedirectResponse("/drill#gains", 303)


def _plain(watch: Watch, href: str) -> HTMLResponse:
    """Give a page that everybody gets alike: drawn once, for all that follow a change at once."""
    worked = watch.shown()
    template, make = PLAIN[href]

    def text() -> bytes:
        return drawn(template, view=make(worked), here=href, boot=watch.boot).encode()

    return HTMLResponse(worked.made(("page", href, watch.boot, worked.serial), text))


def _picture(made: FastAPI, watch: Watch) -> None:
    @made.get(PICTURE, include_in_schema=False)
    async def get_room_picture(v: Word = "") -> Response:
        # The page may be one kept from the last time: then the show is still being read.
        await watch.first(PICTURE_S)
        behind = named_picture(watch.now)
        if behind is None:
            return Response("no picture", 404, media_type="text/plain")
        _, file = behind
        headers = KEEP if v == mark_of(file) else {"Cache-Control": "no-cache"}
        return Response(file.data, media_type=file.media_type, headers=headers)


def _papers(made: FastAPI, watch: Watch) -> None:
    reader_word = Annotated[str, Query(alias="for", max_length=20)]

    @made.get("/papers", include_in_schema=False)
    def get_papers(
        reader: reader_word = "crew",
        name: Word = "",
        paper: Word = "a4",
        language: Word = "en",
        sheet: Word = "",
    ) -> HTMLResponse:
        wish = Wish(reader=reader, name=name, paper=paper, language=language)
        view = papers(watch.shown(), wish, sheet)
        return page("papers.html", view, here="/papers", boot=watch.boot)

    @made.get("/papers/file/{file:path}", include_in_schema=False)
    def get_file(
        file: str,
        reader: reader_word = "crew",
        name: Word = "",
        paper: Word = "a4",
        language: Word = "en",
    ) -> Response:
        worked = watch.shown()
        wish = Wish(reader=reader, name=name, paper=paper, language=language)
        data = file_of(worked, wish, file)
        if data is None:
            return missing(head(worked), f"There is no paper {file[:80]!r}.", boot=watch.boot)
        kind = mimetypes.guess_type(file)[0] or "application/octet-stream"
        how = "inline" if file.endswith(".pdf") else "attachment"
        last = file.rpartition("/")[2]
        disposition = {"Content-Disposition": f'{how}; filename="{last}"'} if last.isascii() else {}
        return Response(data, media_type=kind, headers=disposition)

    @made.get("/papers/picture/{picture}", include_in_schema=False)
    def get_picture(
        picture: str, reader: reader_word = "crew", name: Word = "", language: Word = "en"
    ) -> Response:
        worked = watch.shown()
        svg = picture_of(worked, Wish(reader=reader, name=name, language=language), picture)
        if svg is None:
            return missing(head(worked), f"There is no picture {picture[:80]!r}.", boot=watch.boot)
        return Response(with_letters(svg), media_type="image/svg+xml")


def _rest(made: FastAPI, watch: Watch) -> None:
    @made.get("/events", include_in_schema=False)
    async def get_events(since: Word = "") -> StreamingResponse:
        return StreamingResponse(events(watch, since), media_type="text/event-stream")

    @made.get("/static/{name}", include_in_schema=False)
    def get_static(name: str, v: Word = "") -> Response:
        file = static_files().get(name)
        if file is None:
            return Response("no such file", 404)
        headers = KEEP if v == file.mark else {"Cache-Control": "no-cache"}
        return Response(file.data, media_type=file.media_type, headers=headers)


def _not_shown(made: FastAPI, watch: Watch) -> None:
    """Say what is told instead of what was asked for."""

    @made.exception_handler(StillReading)
    def reading(request: Request, error: StillReading) -> Response:  # noqa: ARG001 - the shape asked for
        of_before = watch.kept.get(request.url.path) if not request.url.query else None
        if of_before is not None:
            return HTMLResponse(of_before)
        here = next((href for _, href in PAGES if href == request.url.path), "")
        return page("reading.html", {"head": head(watch.now)}, here=here, boot=watch.boot)

    @made.exception_handler(Gone)
    def gone(request: Request, error: Gone) -> Response:  # noqa: ARG001 - the shape asked for
        return Response(status_code=204)

    @made.exception_handler(HTTPException)
    def not_there(request: Request, error: HTTPException) -> Response:
        if request.url.path.startswith("/api"):
            return JSONResponse({"detail": error.detail}, error.status_code)
        what = TOLD.get(error.status_code, f"{error.detail}.")
        return missing(head(watch.now), what, boot=watch.boot, status=error.status_code)

    @made.exception_handler(LineproofError)
    def told(request: Request, error: LineproofError) -> Response:
        if request.url.path.startswith("/api"):
            return JSONResponse({"detail": str(error)}, 409)
        return missing(head(watch.now), str(error), boot=watch.boot)
