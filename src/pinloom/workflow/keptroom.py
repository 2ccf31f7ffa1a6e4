"""Room asked for before a design: part of the problem, then kept beside the finished job.

Theory of operation. The chart is designed with as many further change keys as are asked for, each
with a door of its own under the same masters. Then these keys and doors leave the chart; their cuts
stay on record as combinations that are kept. The job is proved without them, and what is kept is
proved again on the finished job: all kept keys and doors at once, the others untouched.

A wish that cannot be met is never dropped: the answer is the refusal of the larger problem, or its
giving up, together with how much room does fit, found by halving and verified by a design.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.groups import Further, with_further
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Preference, ProofReport
from pinloom.core.request import Designed, DesignRequest, Remedy
from pinloom.core.room import KeptRoom
from pinloom.core.stacks import PinnedCylinder
from pinloom.pinning import pin_job
from pinloom.workflow.kitdesign import KitAnswer
from pinloom.workflow.verdict import judge

Solve = Callable[[DesignRequest], KitAnswer]
Progress = Callable[[str], None]

MOST_TRIES = 5  # designs tried for how much room fits
TRY = 400  # steps of one such design, and one for every second key
ANY = Preference.FEWEST_MASTER_PINS  # of all preferences, the quickest
INCLUDED = ", kept room included"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomAnswer:
    """``answer`` is that of the chart itself; ``kept`` and ``wide`` (the design with the further
    keys in it) only with a design. ``refused`` = a design exists, but none with the room asked for
    was found; ``fits`` = the room by master with which one
    was, None where nobody looked.
    """

    answer: KitAnswer
    kept: tuple[KeptRoom, ...] = ()
    wide: "Wide | None" = None
    refused: bool = False
    fits: Mapping[str, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wide:
    """The design with the further keys in it: ``bittings[k]`` belongs to ``chart.keys[k]``."""

    chart: AccessChart
    formats: tuple[HardwareFormat, ...]
    bittings: tuple[Bitting, ...]


def design_with_room(
    request: DesignRequest,
    counts: Mapping[str, int],
    solve: Solve,
    progress: Progress | None = None,
) -> RoomAnswer:
    """A design with ``counts[master]`` further keys kept, or why not and how many fit."""
    if not counts:
        return RoomAnswer(answer=solve(request))
    further = with_further(request.chart, counts)
    larger = _larger(request, further)
    answer = solve(replace(larger, seek_remedies=False))
    if isinstance(answer.outcome, Designed):
        return _unwrapped(request, larger, further, answer, answer.outcome)
    plain = solve(request)
    if not isinstance(plain.outcome, Designed):
        return RoomAnswer(answer=plain)
    outcome = answer.outcome
    fits: dict[str, int] | None = None
    if request.seek_remedies:
        fits = _most_that_fits(request, counts, solve, progress)
    if fits is not None and any(fits.values()):
        remedy = Remedy(change="remedy-less-room", values=(("room", _told(fits)),), verified=True)
        outcome = replace(outcome, remedies=(remedy,))
    return RoomAnswer(answer=replace(answer, outcome=outcome), refused=True, fits=fits)


def still_kept(job: Job, kept: Sequence[KeptRoom]) -> tuple[KeptRoom, ...]:
    """What of kept room still holds in a job: all of it together proves, with nothing else touched.

    Combinations that take part in a fault are let go until none is left, and all of a master that
    is no longer in use. The number asked for stays on record.
    """
    index, opened = job.chart.key_index(), job.chart.doors_of()
    left = [
        one if opened[index[one.under]] else replace(one, cuts=())
        for one in kept
        if one.under in index
    ]
    while any(one.cuts for one in left):
        further = with_further(job.chart, {one.under: len(one.cuts) for one in left})
        report = prove_kept(job, left, further)
        wrong = {name for one in report.faults for name in (one.key, one.door)}
        if report.proved:
            break
        held = [
            replace(
                one,
                cuts=tuple(
                    cut
                    for name, cut in zip(further.keys[one.under], one.cuts, strict=True)
                    if name not in wrong
                ),
            )
            for one in left
        ]
        if held == left:  # the faults are the job's own: nothing can be said of what is kept
            held = [replace(one, cuts=()) for one in left]
        left = held
    return tuple(left)


def with_further_keys(request: DesignRequest, counts: Mapping[str, int]) -> DesignRequest:
    """The request with ``counts[master]`` further keys and their doors in it."""
    return _larger(request, with_further(request.chart, counts))


def cuts_of_chart(
    chart: AccessChart, larger: AccessChart, bittings: Sequence[Bitting]
) -> tuple[Bitting, ...]:
    """The cuts of a chart's keys out of those of a larger chart."""
    cuts = {key.name: cut for key, cut in zip(larger.keys, bittings, strict=True)}
    return tuple(cuts[key.name] for key in chart.keys)


def prove_kept(job: Job, kept: Sequence[KeptRoom], further: Further) -> ProofReport:
    """The proof of a job with all kept keys cut and their doors pinned, all else as it is."""
    wide = _with_further(job, kept, further)
    return judge(wide.chart, wide.formats, wide.bittings, wide.controls, wide.pinning)


def with_kept_cut(job: Job, kept: Sequence[KeptRoom]) -> Job:
    """The job as if all kept keys were cut and their doors pinned; its proof is the old one."""
    counts = {one.under: len(one.cuts) for one in kept}
    return _with_further(job, kept, with_further(job.chart, counts))


def _with_further(job: Job, kept: Sequence[KeptRoom], further: Further) -> Job:
    chart = further.chart
    known = job.cuts()
    for one in kept:
        known |= dict(zip(further.keys[one.under], one.cuts, strict=True))
    bittings = tuple(known[key.name] for key in chart.keys)
    pins = {cylinder.door: cylinder for cylinder in job.pinning}
    pins |= {one.door: one for one in _pinned(job, further, bittings)}
    cylinders = tuple(pins[door.name] for door in chart.doors)
    return replace(job, chart=chart, bittings=bittings, pinning=cylinders)


def _pinned(
    job: Job, further: Further, bittings: tuple[Bitting, ...]
) -> tuple[PinnedCylinder, ...]:
    """The further doors alone, pinned for their keys."""
    chart = further.chart
    opens = chart.opens()
    doors = [door for door in chart.doors if door.name in further.like]
    alone = AccessChart.build(doors, chart.keys, {d.name: opens[d.name] for d in doors})
    formats = [_format_of(job.formats, door.hardware) for door in alone.doors]
    return pin_job(alone, job.key_format, formats, bittings, job.controls).cylinders


def _format_of(formats: Sequence[HardwareFormat], name: str) -> HardwareFormat:
    return next((made for made in formats if made.name == name), formats[0])


def _larger(request: DesignRequest, further: Further) -> DesignRequest:
    """The request with the further keys and doors in it."""
    chart = request.chart
    fixed = {key.name: cuts for key, cuts in zip(chart.keys, request.fixed, strict=True)}
    formats = {
        door.name: made for door, made in zip(chart.doors, request.cylinder_formats, strict=True)
    }
    return replace(
        request,
        chart=further.chart,
        cylinder_formats=tuple(
            formats[further.like.get(door.name, door.name)] for door in further.chart.doors
        ),
        fixed=tuple(fixed.get(key.name) for key in further.chart.keys),
    )


def _unwrapped(
    request: DesignRequest,
    larger: DesignRequest,
    further: Further,
    answer: KitAnswer,
    outcome: Designed,
) -> RoomAnswer:
    """The design of the chart itself, and what is kept beside it."""
    cuts = {key.name: cut for key, cut in zip(larger.chart.keys, outcome.bittings, strict=True)}
    index = request.chart.key_index()
    kept = tuple(
        KeptRoom(
            under=master,
            asked=len(names),
            cuts=tuple(
                sorted((cuts[name] for name in names), key=lambda cut: _order(cut, cuts[master]))
            ),
        )
        for master, names in sorted(further.keys.items(), key=lambda item: index[item[0]])
    )
    narrowed = replace(
        outcome,
        bittings=cuts_of_chart(request.chart, larger.chart, outcome.bittings),
        claims=tuple(replace(claim, measure=claim.measure + INCLUDED) for claim in outcome.claims),
    )
    return RoomAnswer(
        # No bound on pins that are short follows for the chart alone.
        answer=replace(answer, outcome=narrowed, bound=0),
        kept=kept,
        wide=Wide(chart=larger.chart, formats=larger.cylinder_formats, bittings=outcome.bittings),
    )


def _order(cut: Bitting, master: Bitting) -> tuple[int, Bitting]:
    """The next one first: fewest chambers off the master's cut, then shallow first."""
    return sum(one != other for one, other in zip(cut, master, strict=True)), cut


def _most_that_fits(
    request: DesignRequest,
    counts: Mapping[str, int],
    solve: Solve,
    progress: Progress | None,
) -> dict[str, int]:
    """The largest share of the wishes with which a design was found, by halving."""
    low, high = 0, max(counts.values())
    for _ in range(MOST_TRIES):
        if high - low < 2:
            break
        share = (low + high) // 2
        if progress:
            progress("trying how much room fits")
        larger = with_further_keys(request, _part(counts, share))
        steps = min(request.budget, TRY + len(larger.chart.keys) // 2)
        quick = replace(larger, seek_remedies=False, alternatives=(), budget=steps, preference=ANY)
        answer = solve(quick)
        if isinstance(answer.outcome, Designed):
            low = share
        else:
            high = share
    return _part(counts, low)


def _part(counts: Mapping[str, int], share: int) -> dict[str, int]:
    most = max(counts.values())
    return {name: n * share // most for name, n in counts.items()}


def _told(fits: Mapping[str, int]) -> str:
    return ", ".join(f"{name}={n}" for name, n in fits.items())
