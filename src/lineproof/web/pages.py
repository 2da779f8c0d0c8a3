"""Pages drawn from their data; every text is escaped, whoever wrote it."""

from __future__ import annotations

import functools

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse

from lineproof.web.files import static_href
from lineproof.web.views.parts import Head, count

#: The pages, by the words on them, in order.
PAGES = (
    ("Ready?", "/"),
    ("Lines", "/lines"),
    ("Room", "/room"),
    ("Drill", "/drill"),
    ("Nets", "/nets"),
    ("Papers", "/papers"),
    ("Revisions", "/revisions"),
)


@functools.cache
def environment() -> Environment:
    """Give what draws; a name that is not there is a mistake, not an empty place."""
    made = Environment(
        loader=PackageLoader("lineproof.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(static=static_href, pages=PAGES, count=count)
    made.filters["block"] = lambda block: type(block).__name__.lower()
    return made


def drawn(template: str, **parts: object) -> str:
    """Give a template drawn."""
    return environment().get_template(template).render(**parts)


def page(template: str, view: object, *, here: str, boot: str, status: int = 200) -> HTMLResponse:
    """Give a whole page; `here` is the page's address in the list above."""
    text = drawn(template, view=view, here=here, boot=boot)
    return HTMLResponse(text, status_code=status)


def missing(head: Head, what: str, *, boot: str, status: int = 404) -> HTMLResponse:
    """Give the page for what is not there."""
    text = drawn("missing.html", view={"head": head, "what": what}, here="", boot=boot)
    return HTMLResponse(text, status_code=status)
