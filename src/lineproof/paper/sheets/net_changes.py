"""What is new in the network since the revision against which rows are marked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

from lineproof.base.names import natural
from lineproof.paper.edition import Edition
from lineproof.paper.sheet import Row, Table
from lineproof.paper.sheets.parts import cells, columns
from lineproof.plan.network import PlannedRun, Stream

Thing = TypeVar("Thing")


def change_of(edition: Edition, now: object, then: object) -> str:
    """Give the word for a thing of the network that was not there then, or was otherwise."""
    if edition.before is None or now == then:
        return ""
    return edition.words("change.new" if then is None else "change.moved")


def network_changes(edition: Edition) -> tuple[Table, ...]:
    """Give runs, addresses and streams that came, went or are otherwise; no table where none."""
    before, now = edition.network_then, edition.outcome.plan.network
    rows = (
        *_rows(edition, "run", before.runs, now.runs, lambda run: run.name, run_way),
        *_rows(
            edition,
            "address",
            before.addresses,
            now.addresses,
            lambda a: f"{a.unit} ({edition.words('said.net', net=a.net)})",
            lambda a: a.ip,
        ),
        *_rows(edition, "stream", before.streams, now.streams, lambda s: s.name, _stream_text),
    )
    if not rows:
        return ()
    head = columns(edition.words, "item", "name", "was", "is-now")
    title = edition.words("part.network-changes")
    return (Table(name="network-changes", title=title, columns=head, rows=rows),)


def run_way(run: PlannedRun) -> str:
    """Give what makes a run the one it is: its two ends, its ducts, of what it is made."""
    a, b = run.ends
    return ", ".join([f"{a} – {b}", *run.ducts])


def _stream_text(stream: Stream) -> str:
    """Give what listeners would notice: channels, who hears it, where it goes."""
    channels = " ".join(map(str, stream.channels))
    to = ", ".join(f"{ip}:{stream.udp_port}" for ip in stream.to.values())
    return f"{channels} > {', '.join(stream.receivers)}; {to}"


def _rows(
    edition: Edition,
    what: str,
    before: Iterable[Thing],
    now: Iterable[Thing],
    name_of: Callable[[Thing], str],
    text_of: Callable[[Thing], str],
) -> Iterator[Row]:
    old = {name_of(thing): text_of(thing) for thing in before}
    new = {name_of(thing): text_of(thing) for thing in now}
    for name in sorted({**old, **new}, key=natural):
        was, is_now = old.get(name, ""), new.get(name, "")
        if was != is_now:
            key = "new" if name not in old else "gone" if name not in new else "moved"
            texts = cells(edition.words(f"network.{what}"), name, was, is_now)
            yield Row(cells=texts, change=edition.words(f"change.{key}"))
