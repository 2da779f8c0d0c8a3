"""Lines of different acts with one role want one socket: they are planned as one plug."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lineproof.base.names import folded
from lineproof.base.spot import LineKey
from lineproof.decide.problem import Job, Plug, PlugId, Problem, plug_id
from lineproof.graph.acts import Running
from lineproof.show.model import Line


def role_of(line: Line) -> str:
    """Give what the line is in every act: its role, else its name."""
    return folded(line.role or line.name)


@dataclass(frozen=True, kw_only=True)
class _Sharers:
    """Plugs that become one, with the acts they are needed in."""

    plugs: tuple[Plug, ...]
    acts: frozenset[str]


def with_roles(problem: Problem, apart: frozenset[LineKey] = frozenset()) -> Problem:
    """Give the problem in which lines of one role share a plug, but for the lines of `apart`."""
    whole = problem.apart | apart
    jobs = _shared_jobs(problem.singly, problem.running, whole)
    return replace(problem, jobs=jobs, apart=whole)


def role_families(problem: Problem) -> tuple[frozenset[LineKey], ...]:
    """Give the sets of lines that share a plug, or a channel inside a unit, early lines first."""
    found: dict[frozenset[LineKey], object] = {}
    for job in problem.jobs:
        for plug in job.plugs:
            if len(plug.lines) > 1:
                found.setdefault(frozenset(plug.lines), plug.line.sort_key())
    inside: dict[tuple[str, str], list[LineKey]] = {}
    for job in problem.jobs:
        if job.role:
            inside.setdefault((job.inside, job.role), []).append(job.line.key)
    for keys in inside.values():
        found.setdefault(frozenset(keys), min(key.sort_key() for key in keys))
    return tuple(sorted(found, key=lambda lines: found[lines]))  # type: ignore[arg-type, return-value]


def _shared_jobs(
    jobs: tuple[Job, ...], running: Running, apart: frozenset[LineKey]
) -> tuple[Job, ...]:
    """Give the jobs with one plug for all lines of a role at a place.

    Lines of `apart`, of overlapping acts, and lines that hang or are pinned elsewhere keep a
    plug of their own. A line without an act is in every act, and so shares with nobody.
    """
    merged: dict[PlugId, Plug] = {}
    families: dict[tuple[object, ...], list[Plug]] = {}
    for job in jobs:
        for plug in job.plugs:
            if job.line.act_name and job.line.key not in apart:
                family = (role_of(job.line), plug.side, plug.place, plug.beyond, plug.signal)
                ends = job.strand if plug is job.plug else plug.part
                families.setdefault((*family, ends), []).append(plug)
    for plugs in families.values():
        for sharers in _shared(plugs, running):
            one = _as_one(sharers)
            merged.update({plug_id(p): one for p in sharers.plugs})
    shared = _roles_inside(jobs, apart)
    return tuple(replace(_with(job, merged), role=shared.get(job.ident, "")) for job in jobs)


def _roles_inside(
    jobs: tuple[Job, ...], apart: frozenset[LineKey]
) -> dict[tuple[LineKey, str], str]:
    """Give the role of what starts inside a unit, where lines of other acts have it as well."""
    families: dict[tuple[str, str, str], list[Job]] = {}
    for job in jobs:
        if job.inside and job.line.act_name and job.line.key not in apart:
            families.setdefault((job.inside, job.strand, role_of(job.line)), []).append(job)
    found: dict[tuple[LineKey, str], str] = {}
    for (_, _, role), family in families.items():
        acts = [job.line.act_name for job in family]
        if len(family) > 1 and len(set(acts)) == len(acts):
            found.update({job.ident: role for job in family})
    return found


def _with(job: Job, merged: dict[PlugId, Plug]) -> Job:
    outs = tuple(merged.get(plug_id(p), p) for p in job.outs)
    splits = tuple(merged.get(plug_id(p), p) for p in job.splits)
    plug = job.plug and merged.get(plug_id(job.plug), job.plug)
    return replace(job, plug=plug, splits=splits, outs=outs)


def _shared(plugs: list[Plug], running: Running) -> list[_Sharers]:
    """Give the plugs of a family in sets that can be one; those that hang come first."""
    found: list[_Sharers] = []
    for plug in sorted(plugs, key=lambda p: (p.fixed is None, p.line.sort_key())):
        acts = frozenset({plug.line.act})
        for at, sharers in enumerate(found):
            if running.may_share(acts, sharers.acts) and _agree(plug, sharers):
                both = (*sharers.plugs, plug)
                found[at] = _Sharers(plugs=both, acts=sharers.acts | acts)
                break
        else:
            found.append(_Sharers(plugs=(plug,), acts=acts))
    return found


def _agree(plug: Plug, sharers: _Sharers) -> bool:
    spots = {p.fixed for p in (plug, *sharers.plugs) if p.fixed is not None}
    options = set(plug.options).intersection(*(p.options for p in sharers.plugs))
    return len(spots) <= 1 and bool(options)


def _as_one(sharers: _Sharers) -> Plug:
    plugs = sorted(sharers.plugs, key=lambda p: p.line.sort_key())
    first = plugs[0]
    shared = set(first.options).intersection(*(p.options for p in plugs))
    levels = [p.level_dbu for p in plugs if p.level_dbu is not None]
    return replace(
        first,
        phantom=any(p.phantom for p in plugs),
        level_dbu=max(levels, default=None),
        options={unit: mm for unit, mm in first.options.items() if unit in shared},
        ties={unit: tie for unit, tie in first.ties.items() if unit in shared},
        pinned=next((p.pinned for p in plugs if p.pinned), None),
        kept=next((p.kept for p in plugs if p.kept), None),
        may_go=all(p.may_go for p in plugs),
        acts=sharers.acts,
        lines=tuple(p.line for p in plugs),
    )
