"""Where everything of the room stands on the page: dots to scale, boxes beside each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lineproof.base.names import natural

Point = tuple[float, float]
Sizes = tuple[float, float]
Box = tuple[float, float, float, float]

#: A drawing is at least so wide; it grows until its boxes take at most this part of it.
LEAST_WIDE, LEAST_HIGH = 860.0, 480.0
FULL = 0.30
MARGIN = 28.0
GAP = 9.0
ROUNDS = 240
#: A room so many times deeper than wide is turned, so that it fits a screen.
TURN = 1.15
#: What lies around the places (a picture of the house) makes the drawing larger on each side by at
#: most this part of its longer one, and its scale smaller by at most this factor.
AROUND, SMALLER = 0.75, 0.5


@dataclass(frozen=True, kw_only=True)
class Plan:
    """The drawing: its size, its scale (drawing units a metre), dots and boxes by place.

    `turned`: the audience is to the right of the page, not below it. `origin` is where 0, 0 of the
    room's metres stands.
    """

    size: Sizes
    scale: float
    turned: bool
    dots: Mapping[str, Point]
    boxes: Mapping[str, Box]
    origin: Point = (0.0, 0.0)


def laid_out(
    at_m: Mapping[str, Point], sizes: Mapping[str, Sizes], around: Iterable[Point] = ()
) -> Plan:
    """Give dots to scale, x to the right and y down the page, and each place's box near its dot.

    A deep room is turned. Boxes push each other apart until none covers another; the same room
    gives the same drawing. `around`: points that should be on the page too, as far as they fit.
    """
    if not at_m:
        return Plan(size=(LEAST_WIDE, 1.0), scale=1.0, turned=False, dots={}, boxes={})
    at, beyond = at_m, list(around)
    turned = _span(at.values(), 1) > TURN * _span(at.values(), 0)
    if turned:
        # A quarter turn: what was down the page goes to the right, what was right goes up.
        at = {name: (y, -x) for name, (x, y) in at.items()}
        beyond = [(y, -x) for x, y in beyond]
    wide, deep = (
        max(_span(at.values(), axis), SMALLER * _span(beyond, axis) if beyond else 0.0)
        for axis in (0, 1)
    )
    area = sum((w + GAP) * (h + GAP) for w, h in sizes.values())
    shape = min(max(deep / wide, 0.35), 0.75)
    width = max(LEAST_WIDE, (area / FULL / shape) ** 0.5)
    scale = min(width / wide, max(LEAST_HIGH, width * shape) / deep)
    left, top = (min(p[axis] for p in at.values()) for axis in (0, 1))
    dots = {n: ((x - left) * scale, (y - top) * scale) for n, (x, y) in at.items()}
    boxes = _apart({n: _by(dots[n], sizes[n]) for n in sorted(dots, key=natural)})
    beyond = [((x - left) * scale, (y - top) * scale) for x, y in beyond]
    plan = _fitted(dots, boxes, beyond, scale, turned=turned)
    x, y = plan.origin
    return replace(plan, origin=(x - left * scale, y - top * scale))


def _span(points: Iterable[Point], axis: int) -> float:
    each = [point[axis] for point in points]
    return max(max(each) - min(each), 0.5)


def _by(dot: Point, size: Sizes) -> list[float]:
    return [dot[0] - size[0] / 2, dot[1] - size[1] / 2, *size]


def _apart(boxes: dict[str, list[float]]) -> dict[str, list[float]]:
    """Push boxes that meet apart, along the shorter way, round by round."""
    each = list(boxes.values())
    for _ in range(ROUNDS):
        met = False
        for n, one in enumerate(each):
            for other in each[n + 1 :]:
                met |= _push(one, other)
        if not met:
            break
    return boxes


def _push(one: list[float], other: list[float]) -> bool:
    dx = (one[0] + one[2] / 2) - (other[0] + other[2] / 2)
    dy = (one[1] + one[3] / 2) - (other[1] + other[3] / 2)
    over_x = (one[2] + other[2]) / 2 + GAP - abs(dx)
    over_y = (one[3] + other[3]) / 2 + GAP - abs(dy)
    if over_x <= 0.01 or over_y <= 0.01:
        return False
    axis, over, away = (0, over_x, dx) if over_x < over_y else (1, over_y, dy)
    step = over / 2 if away >= 0 else -over / 2
    one[axis] += step
    other[axis] -= step
    return True


def _fitted(
    dots: Mapping[str, Point],
    boxes: Mapping[str, list[float]],
    beyond: list[Point],
    scale: float,
    *,
    turned: bool,
) -> Plan:
    """Move all so that it begins at the margin, and round it."""
    left = min([b[0] for b in boxes.values()] + [d[0] for d in dots.values()]) - MARGIN
    top = min([b[1] for b in boxes.values()] + [d[1] for d in dots.values()]) - MARGIN
    right = max([b[0] + b[2] for b in boxes.values()] + [d[0] for d in dots.values()])
    low = max([b[1] + b[3] for b in boxes.values()] + [d[1] for d in dots.values()])
    if beyond:
        more = AROUND * max(right - left, low - top)
        left = max(min(left, *(x for x, _ in beyond)), left - more)
        top = max(min(top, *(y for _, y in beyond)), top - more)
        right = min(max(right, *(x - MARGIN for x, _ in beyond)), right + more)
        low = min(max(low, *(y - MARGIN for _, y in beyond)), low + more)
    return Plan(
        size=(round(right - left + MARGIN), round(low - top + MARGIN + 24)),
        origin=(-left, -top),
        scale=scale,
        turned=turned,
        dots={n: (round(x - left, 1), round(y - top, 1)) for n, (x, y) in dots.items()},
        boxes={
            n: (round(b[0] - left, 1), round(b[1] - top, 1), round(b[2], 1), round(b[3], 1))
            for n, b in boxes.items()
        },
    )


#: How wide and high a tag beside a strand is; where along it a free spot is looked for.
TAG: Sizes = (74.0, 13.0)
ALONG = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)


def free_spot(start: Point, end: Point, taken: list[Box]) -> Point | None:
    """Give where a tag covers nothing, as near the middle of a strand as can be; then it is taken.

    None where everything along it is covered.
    """
    for part in ALONG:
        x = start[0] + part * (end[0] - start[0])
        y = start[1] + part * (end[1] - start[1])
        box = (x - TAG[0] / 2, y - TAG[1] / 2, *TAG)
        if not any(_meet(box, other) for other in taken):
            taken.append(box)
            return (round(x, 1), round(y + 3.5, 1))
    return None


def _meet(one: Box, other: Box) -> bool:
    return (
        one[0] < other[0] + other[2]
        and other[0] < one[0] + one[2]
        and one[1] < other[1] + other[3]
        and other[1] < one[1] + one[3]
    )
