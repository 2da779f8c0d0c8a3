"""The planner's wishes as terms over the model's variables: whole numbers, none below 0."""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Iterable, Mapping

from lineproof.base.spot import Side
from lineproof.decide.classes import Half, off_number
from lineproof.decide.model import Heard, Linear, PatchModel, PlugPair, Var, in_clique
from lineproof.decide.problem import Arrival, Job, Plug, PlugId, Problem, plug_id


def left_out(model: PatchModel) -> list[Linear]:
    """Give the weight of what is left out: a want 1000, an end of a spare line 1 (practice)."""
    spare = {job.line.key for job in model.problem.jobs if job.line.need.value == "spare"}
    return [(1 if key[0] in spare else 1000) * var for key, var in model.gone.items()]


def moved(model: PatchModel) -> list[Linear]:
    """Give how many labels move, 1000 each, and how many freed sockets are reused, 1 each.

    An end that was served and is left out now counts like a label: the want that has a channel
    keeps it before another want gets it.
    """
    terms: list[Linear] = [1000 * model.gone[job.line.key, a.part] for job, a in _served(model)]
    for ident, plug in model.plugs.items():
        if plug.kept is not None:
            stays = [v for c, h, v in model.options_of[ident] if _is_kept(model, ident, c, h)]
            terms.append(1000 * (1 - sum(stays)))
        terms += [
            v
            for c, h, v in model.options_of[ident]
            if _half(model, c, h).kept_from(plug, model.problem.running)
        ]
    return terms


def _served(model: PatchModel) -> list[tuple[Job, Arrival]]:
    """Give the wanted arrivals that there were before."""
    return [
        (job, a)
        for job in model.problem.jobs
        for a in job.arrivals
        if job.earlier and a.part in job.earlier.ends and (job.line.key, a.part) in model.gone
    ]


def _half(model: PatchModel, c: int, h: int) -> Half:
    """Give the half into which a choice puts a plug."""
    cls = model.classes[c]
    return cls.odd if h == 0 or cls.even is None else cls.even


def _is_kept(model: PatchModel, ident: PlugId, c: int, h: int) -> bool:
    return ident in _half(model, c, h).kept


def apart(model: PatchModel) -> list[Linear]:
    """Give how many pairs do not sit on neighbouring odd and even sockets of one unit."""
    together: dict[int, list[Var]] = {at: [] for at in range(len(model.pairs))}
    for (at, _), var in model.paired.items():
        together[at].append(var)
    terms: list[Linear] = []
    for at, pair in enumerate(model.pairs):
        terms.append(_both_put(model, pair, at) - sum(together[at]))
    return terms


def _both_put(model: PatchModel, pair: PlugPair, at: int) -> Linear:
    """Give whether both halves are plugged: one alone is no pair that could be apart.

    Nobody knows of a half that goes far whether it would be beside the other.
    """
    idents = (plug_id(pair.left), plug_id(pair.right))
    left, right = (sum(model.puts(ident)) for ident in idents)
    if not (pair.left.may_go or pair.right.may_go or any(i in model.far for i in idents)):
        return left
    both = model.cp.new_bool_var(f"both of pair {at}")
    model.cp.add(both >= left + right - 1)
    return both


def bunched(model: PatchModel) -> list[Linear]:
    """Give how many sets of lines that should be spread sit all in one unit."""
    terms: list[Linear] = []
    for name, plugs in spread_sets(model.problem).items():
        bunch = model.cp.new_bool_var(f"bunched {name}")
        spare = _spare_of_spread(model, name, plugs)
        for unit in _units(model, plugs):
            model.cp.add(sum(_inside(model, plugs, unit)) <= len(plugs) - 1 - spare + bunch)
        terms.append(bunch)
    return terms


def _spare_of_spread(model: PatchModel, name: str, plugs: list[Plug]) -> Linear:
    """Give how many of the set are left out: the others must be spread without them.

    Where one at most is left there is nothing to spread, and one fewer is counted.
    """
    put = sum(model.put[plug_id(plug)] for plug in plugs)
    if not any(plug.may_go for plug in plugs):
        return 0
    several = model.cp.new_bool_var(f"several of {name}")
    model.cp.add(put <= 1 + (len(plugs) - 1) * several)
    return len(plugs) - 1 - put + several


def leads(model: PatchModel) -> list[Linear]:
    """Give the millimetres of all leads."""
    terms: list[Linear] = []
    for ident, plug in model.plugs.items():
        for front in model.reach.units(plug):
            terms.append(model.in_front[ident, front] * plug.options[front])
            if (ident, front) in model.without_tie:
                more = (plug.ties[front].without_mm or 0) - plug.options[front]
                terms.append(model.without_tie[ident, front] * more)
        far_mm = model.reach.far_mm(plug)
        if far_mm is not None:
            terms.append(model.far[ident] * far_mm)
    return terms


def groups(model: PatchModel) -> list[Linear]:
    """Give the millimetres that stand for further units used by groups."""
    weight = round(model.show.weights.group_m * 1000)
    terms: list[Linear] = []
    for name, plugs in group_sets(model.problem).items():
        units = _units(model, plugs)
        used = [_used(model, f"{name} uses {unit}", plugs, unit) for unit in units]
        most = max(_sockets(model, u, plugs[0].side) for u in units) if units else 1
        far = [model.far[plug_id(p)] for p in plugs if plug_id(p) in model.far]
        for clique in model.problem.running.cliques:
            # A cut: a group can't use fewer units than its lines of one time need sockets.
            must = [p for p in plugs if not p.may_go and in_clique(p.acts, clique)]
            model.cp.add(sum(used) + sum(far) >= -(-len(must) // max(most, 1)))
        any_put = model.cp.new_bool_var(f"{name} is there")
        for plug in plugs:
            model.cp.add(any_put >= sum(model.puts(plug_id(plug))))
        # A group of which nothing is plugged uses no unit; that is no gain.
        model.cp.add(any_put <= sum(used))
        terms.append(sum(used) - any_put)
    return [weight * term for term in terms]


def _used(model: PatchModel, name: str, plugs: list[Plug], unit: str) -> Var:
    used = model.cp.new_bool_var(name)
    for one in _inside(model, plugs, unit):
        model.cp.add(used >= one)
    for clique in model.problem.running.cliques:
        there = _inside(model, [p for p in plugs if in_clique(p.acts, clique)], unit)
        most = min(len(there), _sockets(model, unit, plugs[0].side))
        model.cp.add(sum(there) <= most * used)
    return used


def _units(model: PatchModel, plugs: list[Plug]) -> list[str]:
    """Give the units into which any of the plugs may go."""
    return sorted({unit for plug in plugs for unit in model.units(plug)})


def _inside(model: PatchModel, plugs: list[Plug], unit: str) -> list[Linear]:
    """Give, for each of the plugs that may go into the unit, whether it does."""
    idents = [plug_id(plug) for plug in plugs]
    return [model.in_unit[i, unit] for i in idents if (i, unit) in model.in_unit]


def _sockets(model: PatchModel, unit: str, side: Side) -> int:
    return model.show.count(model.show.units[unit], side)


def off_numbers(model: PatchModel) -> list[Linear]:
    """Give the millimetres that stand for receive channels off their box's number.

    Where acts share sockets no fewer channels are off than are off at one time.
    """
    weight = round(model.show.weights.off_number_m * 1000)
    terms: list[Linear] = []
    shared: dict[tuple[str, int, int], list[tuple[PlugId, Linear]]] = {}
    counted: set[tuple[PlugId, str]] = set()
    for job in model.problem.jobs:
        plug = job.plug
        mixers = [a for a in job.arrivals if model.show.units[a.unit].kind.follows_numbers]
        for a in mixers if plug is not None else ():
            assert plug is not None
            ident = plug_id(plug)
            if (ident, a.unit) in counted:
                # Lines that share a socket share its receive channel.
                continue
            counted.add((ident, a.unit))
            off = [
                (c, h, v)
                for c, h, v in model.options_of[ident]
                if _is_off(model, c, h, plug, a.unit)
            ]
            if not model.show.acts:
                terms.append(_unless_gone(model, sum(v for _, _, v in off), a))
                continue
            for c, h, v in off:
                term = _unless_gone(model, v, a)
                shared.setdefault((a.unit, c, h), []).append((ident, term))
    terms += [_at_one_time(model, key, there) for key, there in shared.items()]
    return [weight * term for term in terms]


def _at_one_time(
    model: PatchModel, key: tuple[str, int, int], there: list[tuple[PlugId, Linear]]
) -> Linear:
    """Give the most of these that are needed at one time."""
    if len(there) == 1:
        return there[0][1]
    most = model.cp.new_int_var(0, len(there), f"off {key}")
    for clique in model.problem.running.cliques:
        now = [term for ident, term in there if in_clique(model.plugs[ident].acts, clique)]
        model.cp.add(most >= sum(now))
    return most


def _is_off(model: PatchModel, c: int, h: int, plug: Plug, mixer: str) -> bool:
    return off_number(_half(model, c, h), plug, mixer, model.fixed)


def _unless_gone(model: PatchModel, off: Linear, arrival: Arrival) -> Linear:
    gone = model.is_gone(arrival.line, arrival.part)
    if isinstance(gone, int):
        return off
    counted = model.cp.new_bool_var(f"off {arrival.line} {arrival.part}")
    model.cp.add(counted >= off - gone)
    return counted


def moves(model: PatchModel) -> list[Linear]:
    """Give the millimetres that stand for what is moved between acts.

    Sockets with more plugs of a stage than there are of them must change at least so often, and so
    must a multipin whose sockets several drop boxes use; 48 V that a role needs in one act and not
    in another is switched wherever it is plugged.
    """
    weight = round(model.show.weights.move_m * 1000)
    stages = sorted({act.stage for act in model.show.acts})
    terms: list[Linear] = [_switched(model, plug) for plug in model.plugs.values()]
    terms += _multipins(model)
    for stage in stages:
        acts = {act.name for act in model.show.acts if act.stage == stage} | {""}
        for c, cls in enumerate(model.classes):
            for at, there in enumerate(_plugged(model, c, acts)):
                sockets = len(cls.slots) * (2 if cls.alike else 1)
                limits = [h for h in model.heard.get(c, ()) if _some_heard(h, there)]
                if len(there) > sockets or limits:
                    over = model.cp.new_int_var(0, len(there), f"moves {c}.{at} {stage}")
                    every = [var for ways in there.values() for var in ways]
                    model.cp.add(over >= sum(every) - sockets)
                    for limit in limits:
                        # Fewer channels than plugs: some of those that are heard share a socket.
                        heard = [var for ident, var in limit.plugs if ident in there]
                        model.cp.add(over >= sum(heard) - limit.sockets)
                    terms.append(over)
    return [weight * term for term in terms]


def _some_heard(limit: Heard, there: Mapping[PlugId, object]) -> bool:
    return sum(1 for ident, _ in limit.plugs if ident in there) > 1


def _switched(model: PatchModel, plug: Plug) -> int:
    """Give how often 48 V is switched while the plug stays: as its lines need it, act by act."""
    order = {act.name: at for at, act in enumerate(model.show.acts)}
    lines = [line for key in plug.lines if (line := model.show.line(key)) is not None]
    there = sorted((order[x.key.act], x.needs_phantom) for x in lines if x.key.act in order)
    if plug.side is not Side.IN:
        return 0
    return sum(1 for (_, was), (_, now) in itertools.pairwise(there) if was != now)


def _multipins(model: PatchModel) -> list[Linear]:
    """Give how often a multipin is moved: once for each drop box after the first that is used."""
    terms: list[Linear] = []
    for drops in model.problem.cores.sharing:
        used = []
        for drop in drops:
            there = [term for (_, front), term in model.in_front.items() if front == drop]
            if there:
                var = model.cp.new_bool_var(f"{drop} is used")
                for term in there:
                    model.cp.add(var >= term)
                used.append(var)
        if len(used) > 1:
            over = model.cp.new_int_var(0, len(used) - 1, f"moves of {drops[0]}")
            model.cp.add(over >= sum(used) - 1)
            terms.append(over)
    return terms


def _plugged(model: PatchModel, c: int, acts: set[str]) -> list[dict[PlugId, list[Var]]]:
    """Give what may be plugged in those acts: into the class, or into each half if they differ."""
    alike = model.classes[c].alike
    found: list[dict[PlugId, list[Var]]] = [{}] if alike else [{}, {}]
    for ident, h, var in model.singles_in.get(c, ()):
        if model.plugs[ident].acts & acts:
            found[h].setdefault(ident, []).append(var)
    for at, var in model.pairs_in.get(c, ()):
        for h, half in enumerate((model.pairs[at].left, model.pairs[at].right)):
            if half.acts & acts:
                found[0 if alike else h].setdefault(plug_id(half), []).append(var)
    return found


def tie_break(model: PatchModel) -> list[Linear]:
    """Give a sum that one solution alone makes least.

    Early lines prefer the units and sockets that come first; weights drawn from names settle
    the rest (isolation lemma of Mulmuley, Vazirani and Vazirani, 1987, from memory: with
    weights below 2**32 two of n variables tie with a chance under n / 2**32).
    """
    order = {ident: at for at, ident in enumerate(sorted(model.plugs, key=_plug_order))}
    terms: list[Linear] = []
    for ident, puts in model.options_of.items():
        early = len(order) - order[ident]
        for c, h, var in puts:
            cls = model.classes[c]
            terms.append(var * ((early * (c + 1) << 32) + _drawn(ident, cls.unit, cls.slots[0], h)))
    for (ident, front), var in model.without_tie.items():
        # Who keeps the tie where it brings two the same: early lines do.
        terms.append(var * ((order[ident] + 1 << 32) + _drawn(ident, front, "without a tie")))
    return terms


def who_goes(model: PatchModel) -> list[Linear]:
    """Give a sum that one choice among equals of what is left out makes least: late lines go."""
    ends = sorted(model.gone, key=lambda end: (end[0].sort_key(), end[1]))
    return [
        # Twelve bits fewer than in the tie-break: the sum must be exact as a float.
        model.gone[end] * ((len(ends) - at << 20) + (_drawn(*end) >> 12))
        for at, end in enumerate(ends)
    ]


def _plug_order(ident: PlugId) -> tuple[object, ...]:
    return (ident[0].sort_key(), ident[2].rank, ident[1])


def _drawn(*words: object) -> int:
    text = "\0".join(map(str, words))
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:4], "big")


def group_sets(problem: Problem) -> dict[str, list[Plug]]:
    """Give the plugs of each group, inputs and outputs apart; groups of one plug left out."""
    found: dict[str, list[Plug]] = {}
    for job in problem.jobs:
        if job.line.group:
            for plug in (p for p in job.plugs if p not in job.splits):
                mates = found.setdefault(f"{plug.side.value} {job.line.group}", [])
                if plug not in mates:
                    mates.append(plug)
    return {name: plugs for name, plugs in sorted(found.items()) if len(plugs) > 1}


def spread_sets(problem: Problem) -> dict[str, list[Plug]]:
    """Give the plugs that should not all sit in one unit, only where a second unit is near.

    They are the lines of one `spread` name, and the speech of a group.
    """
    found: dict[str, list[Plug]] = {}
    for job in problem.jobs:
        if job.plug is None or job.strand:
            continue
        line = job.line
        name = f"spread {line.spread}" if line.spread else ""
        if not name and line.group and _is_speech(job):
            name = f"speech of {line.group}"
        plugs = found.setdefault(name, []) if name else []
        if job.plug not in plugs:
            # Lines of one role in several acts are one plug: it can't be bunched by itself.
            plugs.append(job.plug)
    within = round(problem.show.weights.spread_within_m * 1000)
    return {n: p for n, p in sorted(found.items()) if len(p) > 1 and _second_is_near(p, within)}


def _is_speech(job: Job) -> bool:
    line = job.line
    content = line.content or (line.source.content if line.source else "")
    return content == "speech"


def _second_is_near(plugs: Iterable[Plug], within_mm: int) -> bool:
    """Say whether some plug could go to a second unit with at most so much more lead."""
    for plug in plugs:
        lengths = sorted(plug.options.values())
        if len(lengths) > 1 and lengths[1] - lengths[0] <= within_mm:
            return True
    return False
