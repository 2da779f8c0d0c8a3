"""What a rescue must respect besides: who may hear a line, and who is there when it plays."""

from __future__ import annotations

from collections.abc import Iterator

from lineproof.base.names import folded
from lineproof.show.model import Line, Show, Unit


def may_stand_in(show: Show, unit: Unit, line: Line) -> bool:
    """Say whether a unit may take a line: there in all its acts, and no end it must never reach."""
    acts = {line.act_name} if line.act_name else {act.name for act in show.acts}
    if unit.here and not acts <= set(unit.here):
        return False
    return folded(unit.name) not in set(_shut(show, line))


def is_shy(line: Line) -> bool:
    """Say whether a line's streams must not go to whoever hears the channels beside it."""
    return line.private or bool(line.never)


def _shut(show: Show, line: Line) -> Iterator[str]:
    """Give the units a line must never reach; its row may name zones and lists of them."""
    groups = {folded(name): members for name, members in (*show.zones.items(), *show.lists.items())}
    for word in line.never:
        bare = word.rstrip("?").partition(":")[0]
        for item in groups.get(folded(bare), (bare,)):
            for part in item.rstrip("?").split("|"):
                yield folded(part.partition(":")[0])
