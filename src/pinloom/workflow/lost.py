"""A lost key: exposure, plans by price, and every state on the way to the end proved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Key, KeyStanding
from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.job import FaultKind, Job, ProofFault
from pinloom.core.request import DesignOutcome, DesignRequest
from pinloom.core.reuse import CopyPast
from pinloom.core.stacks import PinnedCylinder
from pinloom.design import design
from pinloom.growth.changes import changes
from pinloom.growth.lost import lost
from pinloom.growth.plans import Bill, LostPlans, Plan, Prices, Stage, Tally, tally
from pinloom.pinning import pin_job
from pinloom.proof import prove
from pinloom.workflow.folder import Saved, check_target, load, save
from pinloom.workflow.grow import changes_csv
from pinloom.workflow.layout import with_layout
from pinloom.workflow.lostorders import OrderAsked, Paper, write_orders
from pinloom.workflow.roomtaken import with_kept
from pinloom.workflow.verdict import judge

if TYPE_CHECKING:  # the ledger's libraries, only where a ledger is given
    from pinloom.workflow.reuse import Books

__all__ = [
    "Bill",
    "LostOrder",
    "LostResult",
    "Paper",
    "Prices",
    "ProvedPlan",
    "Stage",
    "StateProof",
    "Tally",
    "Urgent",
    "lost_key",
    "prove_plan",
]

Progress = Callable[[str], None]
OLD = " (old copy)"


@dataclass(frozen=True, slots=True, kw_only=True)
class LostOrder:
    """``first`` = doors to do first; ``out`` = where to write the end state of plan ``number``;
    ``orders`` = where to write its work orders, by ``swap`` with cores swapped for spares;
    ``books`` = the ledger that says which cuts may be offered again, and who has copies.
    """

    key: str
    folder: Path
    prices: Prices
    first: tuple[str, ...] = ()
    out: Path | None = None
    number: int = 1
    orders: Path | None = None
    swap: bool = False
    approved_by: str | None = None
    paper: Paper = Paper.A4
    passphrase: str | None = None
    books: "Books | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StateProof:
    """One state on the way: after ``stage`` trips. ``broken`` is what rules the plan out;
    ``meanwhile`` = openings that last until the door of the pair is done or the old copy is back.
    """

    stage: int
    pairs: int
    broken: tuple[ProofFault, ...]
    meanwhile: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedPlan:
    """A plan with its end state as a job and the proof of every state."""

    plan: Plan
    job: Job
    states: tuple[StateProof, ...]
    swap_states: tuple[StateProof, ...] = ()  # the same where cores are swapped

    @property
    def proved(self) -> bool:
        """Whether the end and every state before it hold."""
        every = (*self.states, *self.swap_states)
        return self.job.proof.proved and not any(state.broken for state in every)


@dataclass(frozen=True, slots=True, kw_only=True)
class Urgent:
    """Only the doors that matter now: the first trips of a plan, and then not done yet.

    ``pieces`` = keys to cut for it; ``exposed`` = doors that the lost key opens from then on, until
    ``trips`` further trips are made.
    """

    plan: int  # which plan it begins
    doors: tuple[str, ...]
    tally: Tally
    keys: tuple[str, ...]
    pieces: int
    minutes: int
    exposed: tuple[str, ...]
    trips: int
    proved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LostResult:
    """``plans`` cheapest first; ``copies`` with the lost cuts by the books, None without books."""

    answer: LostPlans | None = None
    plans: tuple[ProvedPlan, ...] = ()
    urgent: Urgent | None = None
    saved: Saved | None = None
    written: tuple[str, ...] = ()  # work orders
    copies: tuple[CopyPast, ...] | None = None
    findings: tuple[Finding, ...] = ()


def lost_key(order: LostOrder, progress: Progress | None = None) -> LostResult:
    """Read the job, plan, prove every state, and write the end state where asked."""
    loaded = load(order.folder, order.passphrase)
    found = list(loaded.findings)
    if order.out is not None:
        found += check_target(order.out, order.passphrase)
    job = loaded.job
    if job is not None:
        found += _unknown(order, job)
    if job is None or has_fault(found):
        return LostResult(findings=tuple(found))

    asked = _by_the_books(job, order)
    found += asked.findings
    if has_fault(found):
        return LostResult(findings=tuple(found))
    base = asked.job

    def designer(request: DesignRequest) -> DesignOutcome:
        return design(request, progress)

    answer = lost(
        base,
        order.key,
        prices=order.prices,
        first=order.first,
        avoid=asked.held,
        designer=designer,
        progress=progress,
    )
    plans = tuple(prove_plan(base, plan, answer.lost_name) for plan in answer.plans)
    result = LostResult(
        answer=answer,
        plans=plans,
        urgent=_urgent(plans, order),
        findings=tuple(found),
        copies=asked.copies,
    )
    return _written(order, job, result)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """``job`` without keys that may be forgotten; ``held`` = cuts that no key may get."""

    job: Job
    held: tuple[Bitting, ...] = ()
    copies: tuple[CopyPast, ...] | None = None
    findings: tuple[Finding, ...] = ()


def _by_the_books(job: Job, order: LostOrder) -> _Asked:
    if order.books is None:
        return _Asked(job=job)
    from pinloom.workflow.reuse import forgotten, read_reuse

    reuse = read_reuse(order.books, job)
    slim, said = forgotten(job, reuse)
    return _Asked(
        job=slim,
        held=tuple(sorted(reuse.held)),
        copies=reuse.copies.get(job.cuts()[order.key], ()),
        findings=(*reuse.findings, *said),
    )


def _written(order: LostOrder, job: Job, result: LostResult) -> LostResult:
    """The result with the end state and the work orders of a plan written where asked."""
    if order.out is None and order.orders is None:
        return result
    plans, found = result.plans, list(result.findings)
    if order.number > len(plans):
        found.append(fault("lost-no-such-plan", number=order.number, plans=len(plans)))
        return replace(result, findings=tuple(found))
    chosen = plans[order.number - 1]
    saved: Saved | None = None
    names: tuple[str, ...] = ()
    if order.orders is not None:
        names, remarks = write_orders(_asked(order, job, result, chosen), order.orders)
        found += remarks
    if order.out is not None and not has_fault(found):
        listed = changes_csv(changes(job, chosen.job))
        end = with_layout(chosen.job)
        saved = save(end, order.out, order.passphrase, listed, grown_from=job)
        found += saved.findings
    return replace(result, saved=saved, written=names, findings=tuple(found))


def _asked(order: LostOrder, job: Job, result: LostResult, chosen: ProvedPlan) -> OrderAsked:
    assert result.answer is not None
    swap = order.swap and bool(chosen.plan.swap_stages)
    stages = chosen.plan.swap_stages if swap else chosen.plan.stages
    states = chosen.swap_states if swap else chosen.states
    return OrderAsked(
        before=job,
        job=chosen.job,
        proved=chosen.proved,
        exposure=result.answer.exposure,
        lost_name=result.answer.lost_name,
        plan=chosen.plan,
        bill=(chosen.plan.swap if swap else None) or chosen.plan.bill,
        stages=stages,
        meanwhile=tuple(state.meanwhile for state in states),
        days=order.prices.days,
        swap=swap,
        approved_by=(order.approved_by or "").strip() or None,
        paper=order.paper,
    )


def _urgent(plans: Sequence[ProvedPlan], order: LostOrder) -> Urgent | None:
    """The beginning of the cheapest proved plan that does the doors named first; None where none is
    named that it re-pins, or nothing is left to do after them.
    """
    for number, one in enumerate(plans, start=1):
        if one.proved:
            return _begun(number, one, order)
    return None


def _begun(number: int, one: ProvedPlan, order: LostOrder) -> Urgent | None:
    plan, prices = one.plan, order.prices
    first = set(order.first) & set(plan.repin)
    count = next(
        (
            n
            for n in range(1, len(plan.stages))
            if first <= {door for stage in plan.stages[:n] for door in stage.doors}
        ),
        0,
    )
    if not first or not count:
        return None
    begun: Sequence[Stage] = plan.stages[:count]
    doors = tuple(door for stage in begun for door in stage.doors)
    keys = tuple(key for stage in begun for key in stage.hand_out)
    index, number_of = plan.chart.door_index(), plan.chart.key_index()
    pieces = sum(plan.chart.keys[number_of[key]].copies or 1 for key in keys)
    counted = tally(plan.chart.doors[index[door]] for door in doors)
    return Urgent(
        plan=number,
        doors=doors,
        tally=counted,
        keys=keys,
        pieces=pieces,
        minutes=counted.cylinders * prices.cylinder
        + pieces * (prices.key + prices.issue)
        + count * prices.trip,
        exposed=begun[-1].exposed,
        trips=len(plan.stages) - count,
        proved=not any(state.broken for state in one.states[:count]),
    )


def prove_plan(job: Job, plan: Plan, lost_name: str) -> ProvedPlan:
    """The end state as a job, and the proof of the state after each trip."""
    formats = [job.format_of(d) for d in range(len(job.chart.doors))]
    pinned = pin_job(plan.chart, job.key_format, formats, plan.bittings, job.controls)
    before = {pins.door: pins for pins in job.pinning}
    anew = set(plan.repin)
    cylinders = tuple(p if p.door in anew else before[p.door] for p in pinned.cylinders)
    end = replace(
        job,
        revision=job.revision + 1,
        chart=plan.chart,
        bittings=plan.bittings,
        pinning=cylinders,
        proof=judge(plan.chart, job.formats, plan.bittings, job.controls, cylinders),
        layout=None,
        claims=(),
    )
    end = with_kept(end)
    at_doors = _states(job, end, plan, lost_name, plan.stages)
    same = plan.swap_stages == plan.stages
    swapped = at_doors if same else _states(job, end, plan, lost_name, plan.swap_stages)
    return ProvedPlan(plan=plan, job=end, states=at_doors, swap_states=swapped)


def _states(
    job: Job, end: Job, plan: Plan, lost_name: str, stages: Sequence[Stage]
) -> tuple[StateProof, ...]:
    """A state after each trip, before the old copies whose last door it was are taken back."""
    done: set[str] = set()
    twice = set(plan.recut)
    states = []
    for number, stage in enumerate(stages, start=1):
        done |= set(stage.doors)
        carried = frozenset(twice)
        states.append(_state(job, end, carried, lost_name, frozenset(done), number))
        twice -= set(stage.take_back)
    return tuple(states)


def _state(
    job: Job,
    end: Job,
    twice: frozenset[str],
    lost_name: str,
    done: frozenset[str],
    number: int,
) -> StateProof:
    """Finished doors with new pins, the others with old; re-cut keys in two copies."""
    chart, bittings = _state_chart(job, end, twice, done)
    old = {pins.door: pins for pins in job.pinning}
    pins: tuple[PinnedCylinder, ...] = tuple(
        new if new.door in done else old[new.door] for new in end.pinning
    )
    formats = [end.format_of(d) for d in range(len(chart.doors))]
    report = prove(chart, end.key_format, formats, bittings, end.controls, pins)
    own = {(key, door) for door, keys in end.chart.opens().items() for key in keys}
    broken: list[ProofFault] = []
    meanwhile: list[tuple[str, str]] = []
    for one in report.faults:
        if one.kind is not FaultKind.OPENS or (one.key == lost_name and one.door in done):
            broken.append(one)
        elif one.key != lost_name and (one.key.removesuffix(OLD), one.door) not in own:
            meanwhile.append((one.key, one.door))
    return StateProof(
        stage=number, pairs=report.pairs, broken=tuple(broken), meanwhile=tuple(meanwhile)
    )


def _state_chart(
    job: Job, end: Job, twice: frozenset[str], done: frozenset[str]
) -> tuple[AccessChart, tuple[Bitting, ...]]:
    """What shall open in a state: at a finished door the new copies, elsewhere the old ones."""
    was, cuts = job.cuts(), end.cuts()
    copies: Sequence[Key] = [
        replace(key, name=key.name + OLD) for key in job.chart.keys if key.name in twice
    ]
    cuts |= {name + OLD: was[name] for name in twice}
    opens = {
        door: [name + OLD if name in twice and door not in done else name for name in names]
        for door, names in end.chart.opens().items()
    }
    chart = AccessChart.build(end.chart.doors, (*end.chart.keys, *copies), opens, end.chart.blanks)
    return chart, tuple(cuts[key.name] for key in chart.keys)


def _unknown(order: LostOrder, job: Job) -> list[Finding]:
    found = []
    index = job.chart.key_index()
    if order.key not in index:
        found.append(fault("lost-key-unknown", key=order.key))
    elif job.chart.keys[index[order.key]].standing is KeyStanding.RETIRED:
        found.append(fault("lost-key-retired", key=order.key))
    doors = job.chart.door_index()
    found += [fault("lost-door-unknown", door=name) for name in order.first if name not in doors]
    return found
