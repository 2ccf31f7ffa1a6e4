"""Work orders of a plan for a lost key: one for the owner without cuts, one for the bench."""

from dataclasses import dataclass
from pathlib import Path

from pinloom.core.findings import Finding, Place, caution, fault
from pinloom.core.job import Job
from pinloom.growth.plans import Bill, Exposure, Plan, Stage
from pinloom.sheets import Paper, TripOrder, TripSheet, make_orders
from pinloom.sheets import check as check_job
from pinloom.workflow.pinchart import describe_cylinder
from pinloom.workflow.store import write_private

__all__ = ["OrderAsked", "Paper", "write_orders"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderAsked:
    """A proved plan with both its ends. ``meanwhile`` by stage."""

    before: Job
    job: Job
    proved: bool
    exposure: Exposure
    lost_name: str
    plan: Plan
    bill: Bill
    stages: tuple[Stage, ...]
    meanwhile: tuple[tuple[tuple[str, str], ...], ...]
    days: int
    swap: bool
    approved_by: str | None
    paper: Paper


def write_orders(asked: OrderAsked, out: Path) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """Names of the files written, and findings; nothing of a plan that is not proved."""
    if not asked.proved:
        return (), (fault("lost-order-not-proved", plan=asked.plan.name),)
    found = [one for one in check_job(asked.job, (), asked.approved_by) if one.code in _MATTER]
    if any(one.code == "sheets-unprintable" for one in found):
        return (), tuple(found)
    if asked.approved_by is None:
        found = [caution("sheets-not-approved", revision=asked.job.revision)]
    files = make_orders(_order(asked))
    try:
        out.mkdir(mode=0o700, parents=True, exist_ok=True)
        for name, data in files.items():
            write_private(out / name, data)
    except OSError as error:
        reason = error.strerror or "unknown reason"
        found.append(fault("sheets-unwritable", Place(file=str(out)), reason=reason))
        return (), tuple(found)
    return tuple(files), tuple(found)


_MATTER = ("sheets-unprintable", "sheets-not-approved")


def _order(asked: OrderAsked) -> TripOrder:
    job, before, plan, bill = asked.job, asked.before, asked.plan, asked.bill
    index = {pins.door: d for d, pins in enumerate(before.pinning)}
    anew = set(plan.repin)
    return TripOrder(
        job=job,
        before=before,
        lost=asked.exposure.key,
        lost_copy=asked.lost_name,
        exposed=asked.exposure.doors,
        beyond=asked.exposure.beyond,
        recut=plan.recut,
        trips=tuple(
            TripSheet(
                doors=stage.doors,
                hand_out=stage.hand_out,
                take_back=stage.take_back,
                exposed=stage.exposed,
                meanwhile=pairs,
                day=1 + number * asked.days,
            )
            for number, (stage, pairs) in enumerate(zip(asked.stages, asked.meanwhile, strict=True))
        ),
        pins={
            pins.door: describe_cylinder(job.format_of(d), pins)
            for d, pins in enumerate(job.pinning)
            if pins.door in anew
        },
        old_pins={
            name: describe_cylinder(before.format_of(index[name]), before.pinning[index[name]])
            for name in plan.repin
        },
        swap=asked.swap,
        figures=(
            ("cylinders", f"{bill.cylinders:,}; rows of the chart: {plan.tally.doors:,}"),
            ("keys to cut", f"{len(plan.recut):,} in {bill.pieces:,} pieces"),
            ("minutes at the doors", f"{bill.doors:,}"),
            *((("minutes at the bench", f"{bill.bench:,}"),) if bill.bench else ()),
            ("minutes for keys", f"{bill.keys:,}"),
            ("minutes of trips", f"{bill.ways:,}"),
            ("in all", f"{bill.minutes:,} minutes; those that the shop did not give are guesses"),
        ),
        approved_by=asked.approved_by,
        paper=asked.paper,
    )
