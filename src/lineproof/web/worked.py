"""What the face shows: the show in a folder, worked out, as one value that replaces the last."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal, TypeVar

from lineproof.base.errors import CannotRead
from lineproof.base.finding import Finding, in_order
from lineproof.drill.whole import drill_all
from lineproof.outcome import RESCUES, Outcome, load_plan, with_rescues, work_out
from lineproof.rescue.gains import Gain
from lineproof.rescue.whole import Rescued
from lineproof.show.picture import PictureFile
from lineproof.show.read import Reading, read_show
from lineproof.web.once import Once

Stage = Literal["spots", "figures", "singles", "pairs", "rescue"]
#: In this order; each is shown as soon as it is there. Only a large show is shown by its spots.
STAGES: tuple[Stage, ...] = ("spots", "singles", "pairs", "rescue")
#: What is still being worked out at each stage, in words.
TO_COME = {
    "spots": "network and single faults are still being worked out",
    "figures": "single faults are still being worked out",
    "singles": "pairs of faults are still being worked out",
    "pairs": "rescues are still being worked out",
    "rescue": "",
}
#: The same while somebody waits for what would help.
GAINS_TO_COME = "what would help is still being worked out"
Made = TypeVar("Made")


@dataclass(frozen=True, kw_only=True)
class Worked:
    """The folder as it was last worked out.

    `serial` grows with every new value. `outcome` is None where the folder has never been readable
    since the start; `unread` says why what lies there now can't be read, "" where it can: then
    `outcome` is that of before. `findings` are those of the folder as it lies there now. `picture`
    belongs to `outcome`: it is given out from here, so that no request becomes a path. `gains` are
    what single improvements would bring, None where nobody has asked; `gaining` says that they are
    being worked out.
    """

    folder: Path
    serial: int = 0
    stage: Stage = "spots"
    outcome: Outcome | None = None
    findings: tuple[Finding, ...] = ()
    unread: str = ""
    picture: PictureFile | None = None
    gains: tuple[Gain, ...] | None = None
    gaining: bool = False
    once: Once = field(default_factory=Once, compare=False, repr=False)

    @property
    def to_come(self) -> str:
        """Say what is still being worked out, "" for nothing."""
        if self.outcome is None or self.unread:
            return ""
        return GAINS_TO_COME if self.gaining else TO_COME[self.stage]

    def made(self, key: Hashable, make: Callable[[], Made]) -> Made:
        """Give what `make` gives, made once for this value."""
        return self.once.made(key, make)


def read_folder(folder: Path) -> Reading:
    """Give what the folder holds; what can't be read at all is a reading without a show."""
    return read_show(folder)


def with_pairs(before: Worked) -> Worked:
    """Give what was worked out as far as single faults with all pairs too."""
    outcome = before.outcome
    if outcome is None or outcome.drill is None:
        return before
    whole = drill_all(outcome.drill.calm, pairs=True)
    outcome = replace(outcome, drill=whole, not_tried=(RESCUES,))
    return replace(before, outcome=outcome, stage="pairs", serial=before.serial + 1, once=Once())


def with_rescues_of(before: Worked, rescued: Rescued) -> Worked:
    """Give what was worked out as far as pairs with the rescues, and with the grades that stand."""
    assert before.outcome is not None
    outcome = with_rescues(before.outcome, found=rescued)
    return replace(
        before,
        outcome=outcome,
        findings=outcome.findings,
        stage="rescue",
        serial=before.serial + 1,
        once=Once(),
    )


def worked_at(
    folder: Path, reading: Reading, stage: Stage, before: Worked, *, draft: bool = False
) -> Worked:
    """Give the folder worked out as far as `stage`, with the serial after `before`'s.

    What can't be read leaves the outcome of before standing, and says so.
    """
    serial = before.serial + 1
    try:
        if reading.show is None:
            raise CannotRead("the show can't be read", reading.findings)
        plan, issued, is_draft = load_plan(folder, draft=draft)
        outcome = work_out(reading, plan, issued=issued, is_draft=is_draft, upto=stage)
    except CannotRead as error:
        return Worked(
            folder=folder,
            serial=serial,
            stage=before.stage,
            outcome=before.outcome,
            findings=in_order(error.findings or reading.findings),
            unread=str(error),
            picture=before.picture,
        )
    return Worked(
        folder=folder,
        serial=serial,
        stage=stage,
        outcome=outcome,
        findings=outcome.findings,
        picture=reading.picture,
    )
