"""How long a net is silent after its tree has changed, as a range of seconds."""

from __future__ import annotations

import enum
from dataclasses import dataclass, replace


class Protocol(enum.Enum):
    """Which spanning tree the switches run."""

    RAPID = "rapid"  # IEEE 802.1D-2004, 802.1Q
    CLASSIC = "classic"  # IEEE 802.1D-1998


class Loss(enum.Enum):
    """How a run is lost: its light goes out, or it falls silent behind a lit port."""

    DARK = "dark"
    SILENT = "silent"


#: Rapid, loss seen by the port: tens to hundreds of milliseconds (common practice, facts 10).
_RAPID_LEAST_S, _RAPID_MOST_S = 0.01, 1.0
#: A switch may send what is for a receiver the old way for as long as it remembers it, 300 s (IEEE
#: 802.1D-2004 7.9.2, from memory; seen on the bridges of the Linux kernel with a receiver that kept
#: quiet). One that speaks is found anew.
_SPEAKS_S = 1.0
_SPEAKS = "receivers say something once a second, as units that follow a clock do"
#: A neighbour counts as gone after so many hellos (IEEE 802.1D-2004 17.21.23, from memory).
_HELLOS_MISSED = 3


@dataclass(frozen=True, kw_only=True)
class Habits:
    """What the switches are set to, in seconds: the standards' defaults unless said.

    IEEE 802.1D-2004 table 17-1 (hello, maximum age, forward delay); RFC 3376 8 (query interval and
    response, robustness). `asks_at_change`: a switch asks for members at once when the tree
    changes. RFC 4541 advises it; not every switch does it.
    """

    protocol: Protocol = Protocol.RAPID
    hello_s: float = 2.0
    maximum_age_s: float = 20.0
    forward_delay_s: float = 15.0
    query_interval_s: float = 125.0
    query_response_s: float = 10.0
    robustness: int = 2
    asks_at_change: bool = False

    @property
    def other_querier_s(self) -> float:
        """Give the seconds after which the next querier takes over (RFC 3376 8.5)."""
        return self.robustness * self.query_interval_s + self.query_response_s / 2


@dataclass(frozen=True, kw_only=True)
class Gap:
    """Seconds of silence, at least and at most; what was assumed; whether anyone has measured it.

    `parts`: what the most is made of, in order.
    """

    least_s: float
    most_s: float
    parts: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    measured: bool = False


NO_GAP = Gap(least_s=0.0, most_s=0.0, measured=True)


def tree_gap(habits: Habits, loss: Loss = Loss.DARK) -> Gap:
    """Give how long the tree takes to heal.

    Classic figures: what the bridges of the Linux kernel did lies within them, dark and silent (for
    the first 4 s beside the blocked port, 9 s elsewhere, at a forward delay of 2 s and a maximum
    age of 6 s). Rapid: unmeasured by us.
    """
    if habits.protocol is Protocol.RAPID:
        return _rapid(habits, loss)
    wait = 2 * habits.forward_delay_s
    silent = loss is Loss.SILENT
    return Gap(
        least_s=wait if not silent else wait + habits.maximum_age_s / 2,
        most_s=wait + habits.maximum_age_s,
        parts=(
            f"maximum age {habits.maximum_age_s:g} s",
            f"2 x forward delay {habits.forward_delay_s:g} s",
        ),
        assumed=("all switches run the classic spanning tree",),
        measured=True,
    )


def unicast_gap(habits: Habits, loss: Loss = Loss.DARK) -> Gap:
    """Give how long unicast is silent where its way has changed.

    After the tree: classic bridges forget where a receiver was by and by only, so it is found once
    it has spoken. Rapid ones forget at once (IEEE 802.1D-2004 17.11, from memory).
    """
    tree = tree_gap(habits, loss)
    if habits.protocol is Protocol.RAPID:
        return tree
    return replace(
        tree,
        most_s=tree.most_s + _SPEAKS_S,
        parts=(*tree.parts, f"until the receiver speaks {_SPEAKS_S:g} s"),
        assumed=(*tree.assumed, _SPEAKS),
    )


def _rapid(habits: Habits, loss: Loss) -> Gap:
    assumed = ("all switches run the rapid spanning tree", "runs between switches are two-way")
    if loss is Loss.DARK:
        return Gap(
            least_s=_RAPID_LEAST_S,
            most_s=_RAPID_MOST_S,
            parts=("proposal and agreement, run by run",),
            assumed=(*assumed, "the port sees at once that its run is dark"),
        )
    missed = _HELLOS_MISSED * habits.hello_s
    return Gap(
        least_s=missed - habits.hello_s,
        most_s=missed + _RAPID_MOST_S,
        parts=(f"{_HELLOS_MISSED} hellos of {habits.hello_s:g} s", "proposal and agreement"),
        assumed=assumed,
    )


def multicast_gap(
    habits: Habits,
    loss: Loss = Loss.DARK,
    *,
    snooping: bool = True,
    querier_lost: bool = False,
) -> Gap:
    """Give how long multicast is silent where its way has changed.

    With snooping it comes back only when the next general query has gone round the new tree and was
    answered (measured: 4 to 15 s at a query interval of 10 s, not within 42 s at 125 s). Without
    snooping the tree's own time is all.
    """
    tree = tree_gap(habits, loss)
    if not snooping:
        return tree
    if habits.asks_at_change and not querier_lost:
        return Gap(
            least_s=tree.least_s,
            most_s=tree.most_s + habits.query_response_s,
            parts=(*tree.parts, f"answers to the query {habits.query_response_s:g} s"),
            assumed=(*tree.assumed, "a switch asks for members when the tree changes"),
        )
    wait = habits.query_interval_s
    parts = [f"until the next query {wait:g} s"]
    if querier_lost:
        wait += habits.other_querier_s
        parts.insert(0, f"until the next querier takes over {habits.other_querier_s:g} s")
    return Gap(
        least_s=tree.least_s,
        most_s=tree.most_s + wait + habits.query_response_s,
        parts=(*tree.parts, *parts, f"answers to the query {habits.query_response_s:g} s"),
        assumed=(*tree.assumed, "no switch asks for members when the tree changes"),
        measured=tree.measured and not querier_lost,
    )


def restored_gap(habits: Habits) -> Gap:
    """Give the second silence, when a run that was cut is put back.

    Classic measured: 8 s at a forward delay of 2 s.
    """
    if habits.protocol is Protocol.RAPID:
        return Gap(
            least_s=0.0,
            most_s=_RAPID_MOST_S,
            parts=("proposal and agreement, run by run",),
            assumed=("all switches run the rapid spanning tree",),
        )
    return Gap(
        least_s=2 * habits.forward_delay_s,
        most_s=4 * habits.forward_delay_s,
        parts=(f"up to 4 x forward delay {habits.forward_delay_s:g} s",),
        assumed=("all switches run the classic spanning tree",),
        measured=True,
    )
