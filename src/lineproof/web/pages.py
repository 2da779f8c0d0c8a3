"""Pages drawn from their data; every text is escaped, whoever wrote it."""

from __future__ import annotations

import functools

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.responses import HTMLResponse

from lineproof.web.files import static_href
from lineproof.web.views.parts import Head, count
from lineproof.web.views.rescue import PACES

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
    made.globals.update(static=static_href, pages=PAGES, count=count, paces=PACES)
    made.filters["sentence"] = sentence
    made.filters["kept_whole"] = kept_whole
    made.filters["block"] = lambda block: type(block).__name__.lower()
    return made


def sentence(words: str) -> str:
    """Give words as a sentence; names in it stay as they are.

    >>> sentence("nothing is called 'Box-9'"), sentence("did you mean box-1?")
    ("Nothing is called 'Box-9'.", 'Did you mean box-1?')
    """
    return f"{words[:1].upper()}{words[1:]}{'' if words.endswith(('.', '?')) else '.'}"


def kept_whole(words: str) -> Markup:
    """Give words for a page in which no name is torn apart at its hyphens: `box-1:in-12`.

    >>> str(kept_whole("desk strip-1; <b>"))
    'desk <span class="whole">strip-1;</span> &lt;b&gt;'
    """
    return Markup(" ").join(
        Markup('<span class="whole">{}</span>').format(word) if "-" in word else word
        for word in words.split(" ")
    )


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
