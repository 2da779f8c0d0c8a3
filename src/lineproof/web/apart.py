"""Minutes of work in a process of its own: pages keep their turn, and it ends when it is told.

Worked out in a thread, the rescues of a large show would take every second turn from who breaks
things in the room, for minutes. What goes over to the other process and comes back are values of
ours, over pipes that nobody else holds; nothing of it is a file.
"""

from __future__ import annotations

import contextlib
import io
import os
import pickle
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import IO, Literal

from lineproof.drill.calm import Calm
from lineproof.drill.sweep import Swept
from lineproof.graph.faults import Fault
from lineproof.rescue.gains import Gain, gains
from lineproof.rescue.hurt import EndAt
from lineproof.rescue.rescue import Rescue
from lineproof.rescue.whole import Rescued, rescue_all

Job = Literal["rescues", "gains"]
#: Whoever looks at a page has the first turn (nice(2)).
NICE = 5
#: How often packing is tried while somebody breaks things.
TRIES = 50
#: How often is looked whether the work is still wanted.
LOOK_S = 0.2
#: So often the values may be in use just when they are packed.
MOST_TRIES = 20


class CutShort(Exception):
    """Nobody wants it any more."""


class Failed(Exception):
    """The other process has made a mistake, or died."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is to be worked out; `by_fault`: the rescues, where they are known already."""

    job: Job
    swept: Swept
    by_fault: Mapping[Fault, Rescue]


def rescued_apart(
    swept: Swept,
    wanted: Callable[[], bool],
    progress: Callable[[str], None],
    make_room: Callable[[], None],
) -> Rescued:
    """Give the rescue from every single fault; raises CutShort as soon as it is not wanted.

    `make_room` is called when they are known, before they take up memory here. The show and plan
    of each are those of before: no page shows the changed ones, and an arena has eight hundred.
    """
    data = _worked(Asked(job="rescues", swept=swept, by_fault={}), wanted, progress)
    make_room()
    found = _In(io.BytesIO(data), swept.calm).load()
    # The same ends come back hundreds of times over.
    once: dict[EndAt, EndAt] = {}

    def shared(ends: tuple[EndAt, ...]) -> tuple[EndAt, ...]:
        return tuple(once.setdefault(end, end) for end in ends)

    by_fault = {
        fault: replace(
            each,
            lost=shared(each.lost),
            back=shared(each.back),
            crowded=shared(each.crowded),
        )
        for fault, each in found.items()
    }
    return Rescued(swept=swept, by_fault=by_fault)


class _In(pickle.Unpickler):
    """Reads values in which the show and the plan are only named: both sides have them."""

    def __init__(self, file: IO[bytes], calm: Calm) -> None:
        super().__init__(file)
        self.named = {"show": calm.show, "plan": calm.plan}

    def persistent_load(self, pid: str) -> object:
        """Give what is named."""
        return self.named[pid]


class _Out(pickle.Pickler):
    """Writes values in which the show and the plan are only named."""

    def __init__(self, file: IO[bytes], calm: Calm) -> None:
        super().__init__(file)
        self.calm = calm

    def persistent_id(self, obj: object) -> str | None:
        """Give the name of what both sides have."""
        if obj is self.calm.show:
            return "show"
        return "plan" if obj is self.calm.plan else None


def gains_apart(
    rescued: Rescued, wanted: Callable[[], bool], progress: Callable[[str], None]
) -> tuple[Gain, ...]:
    """Give what single improvements bring; raises CutShort as soon as it is not wanted."""
    asked = Asked(job="gains", swept=rescued.swept, by_fault=rescued.by_fault)
    found: tuple[Gain, ...] = pickle.loads(_worked(asked, wanted, progress))  # noqa: S301 - as above
    return found


def _worked(asked: Asked, wanted: Callable[[], bool], progress: Callable[[str], None]) -> bytes:
    """Give what the other process finds, still packed, passing on how far it is."""
    told: queue.Queue[tuple[str, str | bytes]] = queue.Queue()
    # -P: what lies in the folder people have gone to is no module of ours.
    command = [sys.executable, "-P", "-m", "lineproof.web.apart"]
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
    ) as process:
        threading.Thread(target=_talk, args=(process, asked, told), daemon=True).start()
        try:
            while wanted():
                try:
                    what, value = told.get(timeout=LOOK_S)
                except queue.Empty:
                    continue
                if what == "progress":
                    progress(str(value))
                elif what == "found" and isinstance(value, bytes):
                    return value
                else:
                    raise Failed(str(value))
        finally:
            process.kill()
            # What was still on its way in goes nowhere: closing it here, that is no mistake.
            if process.stdin is not None:
                with contextlib.suppress(OSError):
                    process.stdin.close()
    raise CutShort


def _talk(
    process: subprocess.Popen[bytes], asked: Asked, told: queue.Queue[tuple[str, str | bytes]]
) -> None:
    """Say what is asked, and hear what is told until there is no more."""
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        process.stdin.write(_packed(asked))
        # It stays open: its end tells the other process that nobody waits any more.
        process.stdin.flush()
        while True:
            told.put(pickle.load(process.stdout))  # noqa: S301 - what our own process says
    except (OSError, EOFError, ValueError, pickle.UnpicklingError):
        told.put(("failed", "the process that works it out has ended"))
    except RuntimeError as error:
        told.put(("failed", str(error)))


def _packed(asked: Asked) -> bytes:
    """Give what is asked as bytes.

    Who breaks things meanwhile adds to what is remembered of the show at rest, and a dictionary
    that grows can't be packed: then it is tried again.
    """
    for _ in range(TRIES):
        try:
            return pickle.dumps(asked)
        except RuntimeError:
            time.sleep(LOOK_S)
    return pickle.dumps(asked)


# -- in the other process --------------------------------------------------------------------------


def main() -> None:
    """Work out what is asked on the way in, and tell it on the way out."""
    # What a library prints must not come between.
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    if hasattr(os, "nice"):
        os.nice(NICE)
    asked = pickle.load(sys.stdin.buffer)  # noqa: S301 - what the process that started us says
    threading.Thread(target=_end_with_asker, daemon=True).start()
    try:
        found = _found(asked, lambda far: tell(out, "progress", far))
        packed = io.BytesIO()
        _Out(packed, asked.swept.calm).dump(found)
        tell(out, "found", packed.getvalue())
    except Exception as error:  # noqa: BLE001 - it is told on the page, as every mistake of ours
        tell(out, "failed", f"{type(error).__name__}: {error}")


def tell(out: IO[bytes], what: str, value: str | bytes) -> None:
    """Say one thing."""
    pickle.dump((what, value), out)
    out.flush()


def _found(asked: Asked, progress: Callable[[str], None]) -> object:
    if asked.job == "gains":
        rescued = Rescued(swept=asked.swept, by_fault=asked.by_fault)
        return gains(rescued, progress=progress)
    show, plan = asked.swept.calm.show, asked.swept.calm.plan
    found = rescue_all(asked.swept, progress).by_fault
    return {fault: replace(each, show=show, plan=plan) for fault, each in found.items()}


def _end_with_asker() -> None:
    """End as soon as who asked is gone, however that has ended."""
    with contextlib.suppress(OSError):
        os.read(0, 1)
    os._exit(1)


if __name__ == "__main__":
    main()
