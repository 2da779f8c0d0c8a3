"""The folder watched: when it changes on disk it is worked out again, stage by stage."""

from __future__ import annotations

import asyncio
import os
import secrets
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path

from lineproof.base.collecting import let_go, seldom_collecting
from lineproof.show.model import Show
from lineproof.show.read import Reading
from lineproof.web.apart import CutShort, gains_apart, rescued_apart
from lineproof.web.once import Once
from lineproof.web.worked import (
    STAGES,
    Stage,
    Worked,
    read_folder,
    with_pairs,
    with_rescues_of,
    worked_at,
)

#: How often the folder is looked at. Together with reading, a page follows within a second.
LOOK_S = 0.2
#: A show larger than this shows its spots first: the network takes its time.
SLOW_LINES = 60
#: The pages of a show larger than this are kept for the next time.
LARGE_LINES = 150
#: A folder may hold more than a show; so many files are looked at, and so deep.
MOST_FILES = 5_000
DEPTH = 3

#: When pages are kept: rescues of a large show take minutes, and may not be waited for.
KEPT_AT = ("pairs", "rescue")

Print = tuple[tuple[str, int, int], ...]


#: Where pages of before are there, whoever opens the show sees them first, undisturbed.
HEAD_START_S = 0.7
#: A page waits so long for the first value before it says that the show is being read.
PAGE_S = 2.0


class StillReading(Exception):
    """There is no value yet."""


class Watch:
    """Holds the newest `Worked`, and makes it anew in a thread of its own.

    `kept` are pages of before, shown until the first value is there; `done` is called with every
    large show as far as pages are kept of it: with pairs, and again with rescues. `boot` tells this
    run of the server from another: a page that was open before loads again. `progress` says how far
    it is with what takes minutes, "" for nothing.
    """

    def __init__(
        self,
        folder: Path,
        *,
        draft: bool = False,
        kept: Mapping[str, str] | None = None,
        done: Callable[[Worked, Print], None] | None = None,
        stages: tuple[Stage, ...] = STAGES,
    ) -> None:
        self.folder = folder
        self.draft = draft
        self.boot = secrets.token_hex(4)
        self.now = Worked(folder=folder)
        self.kept = kept or {}
        self.progress = ""
        self._done = done
        self._stages = stages
        self._holding = threading.Lock()
        self._first = threading.Event()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="watch", daemon=True)

    @classmethod
    def of(cls, worked: Worked) -> Watch:
        """Give a watch that holds one value and looks at nothing."""
        made = cls(worked.folder)
        made.hold(worked)
        return made

    def start(self) -> None:
        """Begin to read and to watch."""
        self._thread.start()

    def stop(self) -> None:
        """Stop watching; what is being worked out is not waited for."""
        self._stop.set()

    def ready(self, seconds: float = 30.0) -> Worked:
        """Give the newest value, waiting for the first one so long."""
        self._first.wait(seconds)
        return self.now

    async def first(self, seconds: float) -> None:
        """Wait for the first value so long, without holding up other answers."""
        for _ in range(round(seconds / LOOK_S)):
            if self._first.is_set():
                return
            await asyncio.sleep(LOOK_S)

    def shown(self) -> Worked:
        """Give the newest value for a page; raises StillReading where none comes soon."""
        worked = self.ready(0.0 if self.kept else PAGE_S)
        if not self._first.is_set():
            raise StillReading
        return worked

    def _run(self) -> None:
        seen: Print | None = None
        if self.kept:
            self._stop.wait(HEAD_START_S)
        while not self._stop.is_set():
            now = settled(self.folder, seen)
            if now != seen:
                with seldom_collecting():
                    whole = self._guarded(partial(self._work, now))
                # A file that came and went has cut it short, and all is as it was: begin again.
                seen = now if whole else ()
                let_go()
            elif self.now.gaining:
                self._guarded(partial(self._gain, now))
            self._stop.wait(LOOK_S)

    def _guarded(self, work: Callable[[], None]) -> bool:
        """Work something out; False where it was cut short.

        A mistake of ours is told on every page and ends nothing.
        """
        try:
            work()
        except CutShort:
            return False
        except Exception as error:  # noqa: BLE001 - whoever looks at a page must be told
            what = f"this is a mistake of ours ({type(error).__name__}: {error})"
            self.hold(replace(self.now, unread=what, gaining=False, once=Once()))
        finally:
            self.progress = ""
        return True

    def _work(self, print_: Print) -> None:
        """Work out what lies there now, as far as it goes before it changes again."""
        reading = read_folder(self.folder)
        large = _larger(reading.show, LARGE_LINES)
        for stage in self._stages:
            if stage == "spots" and not _larger(reading.show, SLOW_LINES):
                continue
            worked = self._worked(stage, reading, print_)
            self.hold(worked)
            if worked.unread:
                return
            if not self._wanted(print_):
                raise CutShort
            if self._done is not None and large and stage in KEPT_AT:
                self._done(self.now, print_)
            if stage == "pairs":
                # Rescues are worked out elsewhere, for minutes.
                let_go()

    def _worked(self, stage: Stage, reading: Reading, print_: Print) -> Worked:
        """Give the folder worked out as far as a stage."""
        if stage == "pairs":
            return with_pairs(self.now)
        if stage == "rescue":
            # It takes minutes, in a process of its own: what pairs have left need not lie here.
            let_go()
            outcome = self.now.outcome
            assert outcome is not None
            assert outcome.drill is not None
            swept = outcome.drill.swept
            found = rescued_apart(swept, lambda: self._wanted(print_), self._tell, self._make_room)
            return with_rescues_of(self.now, found)
        return worked_at(self.folder, reading, stage, self.now, draft=self.draft)

    def _gain(self, print_: Print) -> None:
        """Work out what would help, unless the folder changes meanwhile."""
        outcome = self.now.outcome
        assert outcome is not None
        assert outcome.rescued is not None
        found = gains_apart(outcome.rescued, lambda: self._wanted(print_), self._tell)
        self.hold(replace(self.now, gains=found, gaining=False, once=Once()))

    def _wanted(self, print_: Print) -> bool:
        """Say whether what lies in the folder is still the same, and somebody waits for it."""
        return not self._stop.is_set() and print_of(self.folder) == print_

    def _make_room(self) -> None:
        """Let go of what pages were made from: in a moment all are made anew."""
        self.now.once.forget()
        let_go()

    def _tell(self, far: str) -> None:
        self.progress = far

    def want_gains(self) -> bool:
        """Have it worked out what would help, once; False where no rescues are there to go by."""
        with self._holding:
            now = self.now
            if now.stage != "rescue" or now.unread:
                return False
            if now.gains is None and not now.gaining:
                self.now = replace(now, gaining=True, serial=now.serial + 1, once=Once())
            return True

    def hold(self, worked: Worked) -> None:
        """Put a value in place of the last, under the next number."""
        with self._holding:
            self.now = replace(worked, serial=self.now.serial + 1)
        self._first.set()


def _larger(show: Show | None, lines: int) -> bool:
    return show is not None and len(show.lines) > lines


def settled(folder: Path, seen: Print | None) -> Print:
    """Give the folder's print; while somebody is still writing it is taken again, for a second."""
    now = print_of(folder)
    if seen is None or now == seen:
        return now
    for _ in range(10):
        time.sleep(0.08)
        again = print_of(folder)
        if again == now:
            break
        now = again
    return now


def print_of(folder: Path) -> Print:
    """Give what tells that a folder changed: every file's name, time and size."""
    return tuple(sorted(_files(folder, "", DEPTH)))[:MOST_FILES]


def _files(folder: Path, above: str, depth: int) -> Iterator[tuple[str, int, int]]:
    try:
        entries = list(os.scandir(folder))
    except OSError:
        return
    for entry in entries:
        name = f"{above}{entry.name}"
        if entry.name.startswith("."):
            continue
        try:
            if entry.is_dir(follow_symlinks=False):
                if depth > 1:
                    yield from _files(Path(entry.path), f"{name}/", depth - 1)
                continue
            stat = entry.stat()
        except OSError:
            continue
        yield (name, stat.st_mtime_ns, stat.st_size)
