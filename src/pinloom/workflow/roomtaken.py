"""Kept room when a job grows: new change keys take it, other changes leave it alone where they can.

1. A new key of a group with kept room, whose doors are all new and open to nobody but the masters
   for whom it was kept, gets the next kept cuts: they were proved for just that. One new key that
   opens other doors of its group too gets the first kept cuts that do for these.
2. What is left of kept room is laid beside the job as keys and doors that are there, so that
   nothing else takes it. An answer that re-cuts a key, or pins one of these doors, is not worth
   it: then the job grows without, and so it does when there is no answer.
3. Whatever came of it, what still holds is proved and stays on record.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.findings import Finding, note
from pinloom.core.groups import above, change_keys, with_further
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Claim, ClaimKind, Job
from pinloom.core.room import KeptRoom
from pinloom.growth.grow import Grown, NotGrown
from pinloom.workflow.keptroom import still_kept, with_kept_cut

Fixed = Sequence[PartialBitting | None]
Solve = Callable[[Job, AccessChart, Sequence[HardwareFormat], Fixed], Grown | NotGrown]
MOST_TRIED = 40  # kept cuts tried for a key that opens other doors too


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """The wanted chart, the format of each of its doors and the cuts given for its keys."""

    chart: AccessChart
    formats: tuple[HardwareFormat, ...]
    fixed: tuple[PartialBitting | None, ...]


def grow_beside_kept(
    job: Job, wanted: Wanted, solve: Solve, avoid: Sequence[Bitting] = ()
) -> Grown | NotGrown:
    """``solve`` asked so that kept room is taken first and left alone otherwise."""
    opened = {
        key.name
        for key, doors in zip(wanted.chart.keys, wanted.chart.doors_of(), strict=True)
        if doors
    }
    kept = [one for one in job.kept if one.under in opened]
    if not any(one.cuts for one in kept):
        return solve(job, wanted.chart, wanted.formats, wanted.fixed)
    for given in _ways(job, wanted, kept, set(avoid)):
        answer = _beside(job, wanted, given, kept, solve)
        if answer is not None:
            return answer
    return solve(job, wanted.chart, wanted.formats, wanted.fixed)


def with_kept(job: Job) -> Job:
    """The job with what of its kept room still holds. Cuts that a key of the chart has were taken
    as they should be, and are asked for no longer.
    """
    if not job.kept:
        return job
    used = set(job.bittings)
    left = []
    for one in job.kept:
        cuts = tuple(cut for cut in one.cuts if cut not in used)
        left.append(replace(one, cuts=cuts, asked=one.asked - len(one.cuts) + len(cuts)))
    held = still_kept(job, [one for one in left if one.asked > 0])
    return replace(job, kept=held)


def room_remarks(job: Job) -> tuple[Finding, ...]:
    """What the chart asks for and the grown job does not keep: growth keeps room, it makes none."""
    held = {one.under: len(one.cuts) for one in job.kept}
    wishes = [(key.name, key.room) for key in job.chart.keys if key.room is not None]
    asked = [(name, wish.of(change_keys(job.chart, name))) for name, wish in wishes]
    return tuple(
        note("room-not-grown", key=name, asked=number, kept=held.get(name, 0))
        for name, number in asked
        if number > held.get(name, 0)
    )


def _ways(
    job: Job, wanted: Wanted, kept: Sequence[KeptRoom], avoid: set[Bitting]
) -> "list[dict[str, Bitting]]":
    """Which new key takes which kept cuts, best first."""
    free = {one.under: [cut for cut in one.cuts if cut not in avoid] for one in kept}
    taken: dict[str, Bitting] = {}
    others: list[tuple[str, str]] = []
    for name, doors in _new_keys(job, wanted):
        under = _group(wanted.chart, name, doors, free)
        if under is None:
            continue
        if _as_kept(job, wanted.chart, name, doors, under):
            if free[under]:
                taken[name] = free[under].pop(0)
        else:
            others.append((name, under))
    if len(others) != 1:
        return [taken]
    name, under = others[0]
    return [*({**taken, name: cut} for cut in free[under][:MOST_TRIED]), taken]


def _new_keys(job: Job, wanted: Wanted) -> list[tuple[str, tuple[str, ...]]]:
    """Keys of the wanted chart that the job does not have and nobody fixed, with their doors."""
    known = job.chart.key_index()
    doors = wanted.chart.doors
    return [
        (key.name, tuple(doors[d].name for d in opened))
        for key, opened, cuts in zip(
            wanted.chart.keys, wanted.chart.doors_of(), wanted.fixed, strict=True
        )
        if key.name not in known and key.standing is KeyStanding.ACTIVE and cuts is None
    ]


def _group(
    chart: AccessChart,
    name: str,
    doors: tuple[str, ...],
    free: Mapping[str, list[Bitting]],
) -> str | None:
    """The master with kept room that a new key is right under: as the table of keys says, else the
    one with the fewest doors that opens all doors of the key.
    """
    stated = chart.keys[chart.key_index()[name]].under
    if stated:
        return stated if free.get(stated) else None
    opens, size = chart.opens(), chart.doors_of()
    index = chart.key_index()
    common = [m for m in free if free[m] and all(m in opens[door] for door in doors)]
    return min(common, key=lambda m: (len(size[index[m]]), m), default=None)


def _as_kept(job: Job, chart: AccessChart, name: str, doors: tuple[str, ...], under: str) -> bool:
    """Whether a key's doors are new, and nobody opens them but it and those it was kept for."""
    there = job.chart.door_index()
    masters = {job.chart.keys[k].name for k in above(job.chart, job.chart.key_index()[under])}
    opens = chart.opens()
    return all(door not in there and set(opens[door]) <= {name, *masters} for door in doors)


def _beside(
    job: Job,
    wanted: Wanted,
    given: Mapping[str, Bitting],
    kept: Sequence[KeptRoom],
    solve: Solve,
) -> Grown | None:
    """The answer with these cuts given, and all other kept room laid beside the job."""
    used = set(given.values())
    rest = [replace(one, cuts=tuple(c for c in one.cuts if c not in used)) for one in kept]
    counts = {one.under: len(one.cuts) for one in rest}
    beside = with_further(wanted.chart, counts)
    wide = with_kept_cut(job, rest)
    index = {key.name: n for n, key in enumerate(wanted.chart.keys)}
    formats = dict(zip((d.name for d in wanted.chart.doors), wanted.formats, strict=True))
    answer = solve(
        wide,
        beside.chart,
        [formats[beside.like.get(door.name, door.name)] for door in beside.chart.doors],
        [
            given.get(key.name, wanted.fixed[index[key.name]] if key.name in index else None)
            for key in beside.chart.keys
        ],
    )
    if isinstance(answer, NotGrown) or answer.recut or set(answer.repin) & set(beside.like):
        return None
    return _narrowed(job, wanted, answer)


def _narrowed(job: Job, wanted: Wanted, answer: Grown) -> Grown:
    """The answer without the keys and doors that were laid beside."""
    cuts = {key.name: cut for key, cut in zip(answer.chart.keys, answer.bittings, strict=True)}
    doors = {door.name for door in wanted.chart.doors}
    real = {key.name for key in (*wanted.chart.keys, *job.chart.keys)}
    chart = AccessChart.build(
        [door for door in answer.chart.doors if door.name in doors],
        [key for key in answer.chart.keys if key.name in real],
        {
            door: [name for name in names if name in real]
            for door, names in answer.chart.opens().items()
            if door in doors
        },
        answer.chart.blanks,
    )
    new = sum(d.count for d in chart.doors if d.name not in job.chart.door_index())
    return replace(
        answer,
        chart=chart,
        bittings=tuple(cuts[key.name] for key in chart.keys),
        claims=tuple(_claim(claim, new) for claim in answer.claims),
    )


def _claim(claim: Claim, new: int) -> Claim:
    """What is known when kept cuts were given: new cylinders are pinned in any case."""
    if claim.kind is not ClaimKind.PROVED_LEAST or claim.value <= new:
        return claim
    return replace(claim, kind=ClaimKind.BOUNDED, bound=new)
