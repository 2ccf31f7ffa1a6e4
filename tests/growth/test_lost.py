"""A lost key: exposure, plans by price, stages."""

from dataclasses import replace

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.job import Job
from pinloom.growth.lost import Prices, lost
from pinloom.hardware import load_format
from pinloom.pinning import pin_job
from pinloom.workflow.lost import ProvedPlan, prove_plan
from pinloom.workflow.verdict import judge
from tests.growth.kit import chart_of

# A layered system: chambers 1 and 2 tell groups apart, 3 and 4 keys; the top master's cut is 2
# everywhere, a group master keeps it in the key chambers. Invented for this test.
ROWS = {f"{g}{n}": f"TOP {g} {g}{n}" for g in "AB" for n in (1, 2, 3)}
CUTS: dict[str, Bitting] = {
    "TOP": (2, 2, 2, 2, 2),
    "A": (0, 2, 2, 2, 2),
    "B": (2, 0, 2, 2, 2),
    "A1": (0, 2, 0, 2, 2),
    "A2": (0, 2, 2, 0, 2),
    "A3": (0, 2, 1, 1, 2),
    "B1": (2, 0, 0, 2, 2),
    "B2": (2, 0, 2, 0, 2),
    "B3": (2, 0, 1, 1, 2),
}


def _job() -> Job:
    made = load_format("us-5x6-023").format
    assert made is not None
    chart = chart_of(ROWS)
    bittings = tuple(CUTS[key.name] for key in chart.keys)
    pins = pin_job(chart, made, (made,) * len(chart.doors), bittings).cylinders
    job = Job(
        name="layered",
        revision=1,
        chart=chart,
        formats=(made,),
        bittings=bittings,
        controls=(),
        pinning=pins,
        proof=judge(chart, (made,), bittings, (), pins),
    )
    assert job.proof.proved
    return job


def _plans(job: Job, key: str, first: tuple[str, ...] = (), per_trip: int = 20) -> list[ProvedPlan]:
    answer = lost(job, key, prices=Prices(per_trip=per_trip), first=first)
    assert answer.plans
    return [prove_plan(job, plan, answer.lost_name) for plan in answer.plans]


def test_a_lost_group_master_lies_between_change_key_and_top_master() -> None:
    """In a layered system new pins alone cannot shut it out, and every plan re-cuts more keys."""
    job = _job()
    answer = lost(job, "A")
    assert answer.exposure.doors == ("A1", "A2", "A3")
    assert not answer.exposure.pins_alone
    assert dict(answer.exposure.others)["A1"] == ("A1", "TOP")
    assert all(len(plan.recut) > 1 for plan in answer.plans)
    assert {plan.repin for plan in answer.plans} >= {("A1", "A2", "A3")}


def test_every_state_of_every_plan_is_proved_and_the_lost_key_opens_nothing() -> None:
    """Each plan ends proved with the lost copy in the proof, and so does every state before."""
    job = _job()
    for one in _plans(job, "A", per_trip=1):
        assert one.proved
        assert len(one.states) == len(one.plan.stages) == len(one.plan.repin)
        assert all(state.pairs for state in one.states)
        assert "A lost" in one.job.chart.key_index()


def test_a_lost_change_key_costs_one_cylinder_and_no_more() -> None:
    """Only its own door is pinned anew, which is the least there can be."""
    job = _job()
    best = _plans(job, "B2")[0]
    assert best.plan.repin == ("B2",)
    assert best.plan.recut == ("B2",)
    assert best.plan.minutes == best.plan.least


def test_perimeter_doors_come_first_and_copies_are_told() -> None:
    """A door named first is done in the first trip; a re-cut key is handed out before the trip
    with its first door and taken back after its last.
    """
    job = _job()
    best = _plans(job, "A", first=("A3",), per_trip=1)[0].plan
    assert best.stages[0].doors == ("A3",)
    assert "A" in best.stages[0].hand_out
    assert "A" in best.stages[-1].take_back
    handed = [key for stage in best.stages for key in stage.hand_out]
    assert sorted(handed) == sorted(best.recut)


def test_a_broken_state_is_found() -> None:
    """If the old pins stay in a finished door, the state says that the lost key opens it."""
    job = _job()
    answer = lost(job, "A")
    plan = answer.plans[0]
    lazy = job.pinning
    proved = prove_plan(job, plan, answer.lost_name)
    assert proved.proved
    skipped = prove_plan(job, replace(plan, repin=()), answer.lost_name)
    assert skipped.job.pinning == lazy
    assert not skipped.proved
    assert any(fault.key == "A lost" for state in skipped.states for fault in state.broken)


def test_an_unknown_key_is_refused() -> None:
    """Callers check names; a wrong one is a bug and says so."""
    with pytest.raises(ValueError, match="no key"):
        lost(_job(), "nobody")
