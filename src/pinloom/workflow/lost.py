"""A lost key: exposure, plans by price, and every state on the way to the end proved."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Key, KeyStanding
from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.job import FaultKind, Job, ProofFault
from pinloom.core.request import DesignOutcome, DesignRequest
from pinloom.core.stacks import PinnedCylinder
from pinloom.design import design
from pinloom.growth.changes import changes
from pinloom.growth.lost import LostPlans, Plan, Prices, lost
from pinloom.pinning import pin_job
from pinloom.proof import prove
from pinloom.workflow.folder import Saved, check_target, load, save
from pinloom.workflow.grow import changes_csv
from pinloom.workflow.layout import with_layout
from pinloom.workflow.roomtaken import with_kept
from pinloom.workflow.verdict import judge

__all__ = ["LostOrder", "LostResult", "Prices", "ProvedPlan", "lost_key", "prove_plan"]

Progress = Callable[[str], None]
OLD = " (old copy)"


@dataclass(frozen=True, slots=True, kw_only=True)
class LostOrder:
    """``first`` = doors to do first; ``out`` = where to write the end state of plan ``number``."""

    key: str
    folder: Path
    prices: Prices
    first: tuple[str, ...] = ()
    out: Path | None = None
    number: int = 1
    passphrase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StateProof:
    """One state on the way: after ``stage`` trips. ``broken`` is what rules the plan out;
    ``meanwhile`` = openings that last until the door of the pair is done.
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

    @property
    def proved(self) -> bool:
        """Whether the end and every state before it hold."""
        return self.job.proof.proved and not any(state.broken for state in self.states)


@dataclass(frozen=True, slots=True, kw_only=True)
class LostResult:
    """``plans`` cheapest first."""

    answer: LostPlans | None = None
    plans: tuple[ProvedPlan, ...] = ()
    saved: Saved | None = None
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

    def designer(request: DesignRequest) -> DesignOutcome:
        return design(request, progress)

    answer = lost(job, order.key, prices=order.prices, first=order.first, designer=designer)
    plans = tuple(prove_plan(job, plan, answer.lost_name) for plan in answer.plans)
    saved = None
    if order.out is not None and order.number <= len(plans):
        chosen = with_layout(plans[order.number - 1].job)
        listed = changes_csv(changes(job, chosen))
        saved = save(chosen, order.out, order.passphrase, listed, grown_from=job)
        found += saved.findings
    elif order.out is not None:
        found.append(fault("lost-no-such-plan", number=order.number, plans=len(plans)))
    return LostResult(answer=answer, plans=plans, saved=saved, findings=tuple(found))


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
    done: set[str] = set()
    states = []
    for number, stage in enumerate(plan.stages, start=1):
        done |= set(stage.doors)
        states.append(_state(job, end, plan, lost_name, frozenset(done), number))
    return ProvedPlan(plan=plan, job=end, states=tuple(states))


def _state(
    job: Job, end: Job, plan: Plan, lost_name: str, done: frozenset[str], number: int
) -> StateProof:
    """Finished doors with new pins, the others with old; re-cut keys in two copies."""
    chart, bittings = _state_chart(job, end, plan, done)
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
    job: Job, end: Job, plan: Plan, done: frozenset[str]
) -> tuple[AccessChart, tuple[Bitting, ...]]:
    """What shall open in a state: at a finished door the new copies, elsewhere the old ones."""
    was, cuts = job.cuts(), end.cuts()
    twice = set(plan.recut)
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
