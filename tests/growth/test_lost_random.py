"""Lost keys on small random systems: bounds, covers and states against plain counting."""

import random
from itertools import combinations, product

import numpy as np

from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.growth.covers import clashes_with, holds
from pinloom.growth.lost import Prices, lost
from pinloom.growth.space import any_box, box_sums
from pinloom.growth.wanted import lay_over, system_of
from pinloom.workflow.lost import ProvedPlan, prove_plan
from tests.growth.kit import (
    chart_of,
    every_bitting,
    job_of,
    opens_by_levels,
    pins_for,
    right,
    tiny,
)

Splits = list[list[set[int]]]


def _splits(job: Job) -> Splits:
    """What every door splits on, read off the pins."""
    return [
        [set(stack.cuts()) if stack is not None else set() for stack in pins.chambers]
        for pins in job.pinning
    ]


def _layered(rng: random.Random, made: HardwareFormat) -> Job | None:
    """Two groups under a top master, with a shared door or a cross key now and then. The cuts are
    drawn by chance, each key's from its master's; None where that does not hold.
    """
    rows: dict[str, str] = {}
    for g in "AB":
        for n in range(1, rng.randint(2, 3) + 1):
            rows[f"{g}{n}"] = f"TOP {g} {g}{n}"
    if rng.random() < 0.5:
        rows["hall"] = "TOP A A1 A2"
    if rng.random() < 0.5:
        rows["A1"] += " X"
        rows["B1"] += " X"
    chart = chart_of(rows)
    top = tuple(rng.randrange(made.levels) for _ in range(made.chambers))
    cuts: dict[str, Bitting] = {"TOP": top}
    for key in sorted((key.name for key in chart.keys), key=len):
        if key in cuts:
            continue
        parent = cuts.get(key[0], top) if len(key) > 1 else top
        changed = set(rng.sample(range(made.chambers), rng.randint(1, 2)))
        cuts[key] = tuple(
            rng.randrange(made.levels) if p in changed else v for p, v in enumerate(parent)
        )
    bittings = tuple(cuts[key.name] for key in chart.keys)
    if len(set(bittings)) < len(bittings) or any(len(set(cut)) == 1 for cut in bittings):
        return None
    pins = pins_for(chart, made, bittings)
    if any(len(stack.masters) > made.max_masters for p in pins for stack in p.chambers if stack):
        return None
    job = job_of(chart, made, bittings)
    return job if right(chart, made, bittings, _splits(job)) else None


def _jobs(count: int, made: HardwareFormat) -> list[Job]:
    rng = random.Random("lost at random")
    found: list[Job] = []
    while len(found) < count:
        job = _layered(rng, made)
        if job is not None:
            found.append(job)
    return found


def _states(job: Job, one: ProvedPlan) -> list[tuple[set[str], Splits]]:
    """The doors that are done and what every door splits on, after each trip."""
    old, new = _splits(job), _splits(one.job)
    done: set[str] = set()
    found = []
    for stage in one.plan.stages:
        done = done | set(stage.doors)
        names = [door.name for door in job.chart.doors]
        found.append((done, [new[d] if n in done else old[d] for d, n in enumerate(names)]))
    return found


def test_no_state_of_any_plan_lets_the_lost_key_into_a_finished_door() -> None:
    """Counted from the pins by the plainest reading of the rules, and agreed by the proof; every
    plan keeps the bounds, and every authorised key works with one of its two copies.
    """
    made = tiny(chambers=4, depths=5, macs=4, masters=3)
    plans = trips = more = 0
    for job in _jobs(6, made):
        was = job.cuts()
        for key in job.chart.keys:
            answer = lost(job, key.name, prices=Prices(per_trip=2))
            for plan in answer.plans:
                one = prove_plan(job, plan, answer.lost_name)
                assert one.proved
                plans += 1
                more += len(plan.recut) > 1
                assert plan.minutes >= plan.bound.minutes
                assert len(plan.recut) >= plan.bound.keys
                assert plan.tally.cylinders >= plan.bound.cylinders
                now = one.job.cuts()
                for done, splits in _states(job, one):
                    trips += 1
                    for d, door in enumerate(job.chart.doors):
                        if door.name in done:
                            assert not opens_by_levels(splits[d], was[key.name], 1)
                        for k in job.chart.openers[d]:
                            name = job.chart.keys[k].name
                            copy = now[name] if door.name in done else was[name]
                            assert all(v in s for v, s in zip(copy, splits[d], strict=True))
                assert _states(job, one)[-1][0] >= set(answer.exposure.doors)
    assert plans > 30
    assert trips > 60
    assert more > 5


def test_fewer_keys_than_the_bound_never_do() -> None:
    """On a tiny format every way of cutting one key fewer than the bound anew is tried out: none
    shuts the lost key out.
    """
    made = tiny(chambers=3, depths=4, masters=3)
    space = every_bitting(made)
    seen = 0
    for job in _jobs(6, made):
        chart, was = job.chart, job.cuts()
        for key in chart.keys:
            bound = lost(job, key.name).bound
            if bound.keys != 2:  # one key beside the lost one: try the lost one alone
                continue
            seen += 1
            others = [(k.name, was[k.name]) for k in chart.keys if k.name != key.name]
            for cut in space:
                cuts = dict(others) | {key.name: cut}
                shut = all(
                    not opens_by_levels(
                        [{cuts[chart.keys[k].name][p] for k in row} for p in range(made.chambers)],
                        was[key.name],
                        1,
                    )
                    for row in chart.openers
                )
                assert not shut
    assert seen > 3


def test_covers_say_exactly_when_pins_can_shut_a_key_out() -> None:
    """A door that has lost the cuts of some keys admits the copy exactly when these hold no cover
    of it.
    """
    made = tiny(chambers=3, depths=4, masters=3)
    seen = set()
    for job in _jobs(6, made):
        chart = job.chart
        laid = lay_over(job, chart, (made,) * len(chart.doors))
        for key in chart.keys:
            copy = job.cuts()[key.name]
            system = system_of(job, laid, (made,) * len(chart.doors), frozenset({key.name}))
            for d, row in enumerate(chart.openers):
                rest = [k for k in row if chart.keys[k].name != key.name]
                clashes = clashes_with(system, copy, [d])
                for size, gone in (
                    (n, set(c)) for n in range(len(rest)) for c in combinations(rest, n)
                ):
                    left = [job.bittings[k] for k in rest if k not in gone]
                    box = [{cut[p] for cut in left} for p in range(made.chambers)]
                    open_to = opens_by_levels(box, copy, 1)
                    assert open_to == (not holds(frozenset(gone), clashes))
                    seen.add((size, open_to))
    assert {(0, True), (0, False), (1, False)} <= seen


def test_sums_and_unions_of_boxes_on_chosen_levels_are_those_of_every_cell() -> None:
    """Both are counted cell by cell; the product is the same whatever its size is cut into."""
    made = tiny(chambers=4, depths=6)
    rng = np.random.default_rng(5)
    axes = ((0, 2, 4), (1, 3), (0, 1, 2, 3, 4, 5), (5,))
    boxes = rng.integers(1, 64, size=(40, 4), dtype=np.int64)
    weights = rng.integers(1, 9, size=40).astype(np.float32)
    sums, union = box_sums(boxes, weights, axes), any_box(boxes, made, axes)
    for cell in product(*(range(len(axis)) for axis in axes)):
        cut = [axis[i] for axis, i in zip(axes, cell, strict=True)]
        held = [all(int(bits) >> v & 1 for bits, v in zip(box, cut, strict=True)) for box in boxes]
        assert sums[cell] == sum(w for w, inside in zip(weights, held, strict=True) if inside)
        assert union[cell] == any(held)
