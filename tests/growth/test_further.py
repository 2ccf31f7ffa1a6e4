"""Free combinations of a group: the same answer as the frozen question, and they fit together."""

import random
from dataclasses import replace
from itertools import product

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import CoreArithmetic, CoreKind, HardwareFormat
from pinloom.core.job import ControlKey, Job
from pinloom.growth.frozen import places
from pinloom.growth.further import Extension
from pinloom.growth.wanted import lay_over, system_of
from tests.growth.kit import chart_of, every_bitting, job_of, pins_for, right, tiny

CHART = {
    "a1": "T A a1",
    "a2": "T A a2",
    "ah": "T A a1 a2",
    "b1": "T B b1",
    "b2": "T B b2 x",
    "s": "T x",
}


def _random_job(made: HardwareFormat, seed: int) -> Job:
    """Random cuts for a small tree: free combinations do not ask whether the rest is right."""
    rng = random.Random(f"further {seed}")
    chart = chart_of(CHART, retired="old")
    everything = [cut for cut in every_bitting(made) if len(set(cut)) > 1]
    job = job_of(chart, made, tuple(rng.sample(everything, len(chart.keys))))
    if made.core is None:
        return job
    return replace(job, controls=(ControlKey(group="", levels=rng.choice(everything)),))


def _alone(extension: Extension, masters: tuple[int, ...], cut: Bitting) -> bool:
    """Whether exactly this combination is free."""
    return extension.free(masters, tuple((level,) for level in cut), 0).left == 1


def _asked_whole(job: Job, masters: tuple[int, ...]) -> set[Bitting]:
    """The same by the frozen question: a door and a key added, every bitting looked at."""
    chart = job.chart
    opens = {**chart.opens(), "zz": ("zz", *(chart.keys[k].name for k in masters))}
    grown = AccessChart.build((*chart.doors, Door(name="zz")), (*chart.keys, Key(name="zz")), opens)
    formats = [job.key_format] * len(grown.doors)
    system = system_of(job, lay_over(job, grown, formats), formats, frozenset())
    fits = places(system, grown.key_index()["zz"]).fits
    return {cut for cut in every_bitting(job.key_format) if fits[cut]}


@pytest.mark.parametrize("seed", range(12))
def test_the_same_as_the_frozen_question(seed: int) -> None:
    """Over the whole key space of small locks, one step and two steps, for two groups."""
    made = tiny(3, 4) if seed % 2 else tiny(3, 5, least_step=2, macs=4, masters=2)
    job = _random_job(made, seed)
    index = job.chart.key_index()
    for names in (("A", "T"), ("B", "T")):
        masters = tuple(index[name] for name in names)
        extension = Extension(job)
        found = {cut for cut in every_bitting(made) if _alone(extension, masters, cut)}
        assert found == _asked_whole(job, masters)


def test_cases_are_not_trivial() -> None:
    """Some groups have room and some have none of it left."""
    counts = []
    for seed in range(12):
        made = tiny(3, 4) if seed % 2 else tiny(3, 5, least_step=2, macs=4, masters=2)
        job = _random_job(made, seed)
        index = job.chart.key_index()
        counts.append(len(_asked_whole(job, (index["A"], index["T"]))))
    assert any(counts)
    assert len(set(counts)) > 4


@pytest.mark.parametrize("kind", CoreKind)
def test_control_lines_are_kept_free(kind: CoreKind) -> None:
    """In cores the frozen question lets no more and no fewer keys by the control line."""
    core = CoreArithmetic(
        kind=kind, offset=2, stack_total=20, control_chambers=(0, 1), buildup_sizes=(1, 2, 3)
    )
    made = replace(tiny(3, 4), core=core)
    met = 0
    for seed in range(8):
        job = _random_job(made, seed)
        index = job.chart.key_index()
        masters = (index["A"], index["T"])
        extension = Extension(job)
        found = {cut for cut in every_bitting(made) if _alone(extension, masters, cut)}
        asked = _asked_whole(job, masters)
        assert found <= asked
        plain = Extension(replace(job, formats=(tiny(3, 4),), controls=()))
        met += len(found) < sum(_alone(plain, masters, cut) for cut in every_bitting(made))
        # The frozen question does not ask who else reaches the new door's control line.
        assert found == {cut for cut in asked if not _reached(job, masters, cut)}
    assert met


def _reached(job: Job, masters: tuple[int, ...], cut: Bitting) -> bool:
    """Whether an operating key turns the control sleeve of a new door, said plainly."""
    core = job.key_format.core
    assert core is not None
    lines = range(3) if core.kind is CoreKind.SMALL else core.control_chambers
    control = job.controls[0].levels
    door = [{job.bittings[k][p] for k in masters} | {cut[p]} for p in range(3)]
    splits = [{control[p]} if p in lines else door[p] for p in range(3)]
    return any(
        all(level in levels for level, levels in zip(key, splits, strict=True))
        for key in job.bittings
    )


def test_other_systems_are_avoided() -> None:
    """No combination equals a bitting of another system or opens a cylinder there; one beside the
    bitting, or held by one pin, is still offered.
    """
    made = tiny(3, 4)
    chart = chart_of({"a1": "T A a1", "a2": "T A a2"})
    cuts = {"T": (1, 1, 1), "A": (0, 1, 1), "a1": (0, 0, 1), "a2": (0, 2, 1)}
    job = job_of(chart, made, tuple(cuts[key.name] for key in chart.keys))
    index = chart.key_index()
    masters = (index["A"], index["T"])
    plain = Extension(job)
    free = sorted(cut for cut in every_bitting(made) if _alone(plain, masters, cut))
    stranger, stack = free[0], ((free[1][0],), (), (free[1][2],))
    apart = Extension(job, avoid=[stranger], avoid_stacks=[stack])
    left = [cut for cut in free if _alone(apart, masters, cut)]
    opening = [cut for cut in free if (cut[0], cut[2]) == (free[1][0], free[1][2])]
    assert left == [cut for cut in free if cut != stranger and cut not in opening]
    assert len(left) > 2


def test_given_ones_fit_together() -> None:
    """What is given to two groups, one after the other, holds when all of it is added at once."""
    made = tiny(4, 4, macs=3)
    chart = chart_of({"a1": "T A a1", "a2": "T A a2", "b1": "T B b1"})
    cuts = {
        "T": (1, 1, 1, 2),
        "A": (0, 1, 1, 2),
        "B": (2, 1, 1, 2),
        "a1": (0, 0, 1, 2),
        "a2": (0, 2, 1, 2),
        "b1": (2, 0, 1, 2),
    }
    job = job_of(chart, made, tuple(cuts[key.name] for key in chart.keys))
    index = chart.key_index()
    extension = Extension(job)
    extension.hold([(0, 3, 1, 2)], (index["A"], index["T"]))
    first = extension.free((index["A"], index["T"]), ((0,), (0, 2), (1,), (2,)), 6)
    second = extension.free((index["B"], index["T"]), ((2,), (0, 1), (1,), (2, 3)), 6)
    assert len(first.unused) == 6
    assert len(second.unused) > 1
    assert (0, 3, 1, 2) not in first.unused
    # Levels in use come first: the only combination of those is in use by both keys already.
    assert {cut[0] for cut in first.unused} == {0}
    added = [
        *(((0, 3, 1, 2), "A"),),
        *((cut, "A") for cut in first.unused),
        *((cut, "B") for cut in second.unused),
    ]
    rows = chart.opens() | {
        f"new{i}": (f"new{i}", master, "T") for i, (_, master) in enumerate(added)
    }
    grown = chart_of({door: " ".join(keys) for door, keys in rows.items()})
    every = cuts | {f"new{i}": cut for i, (cut, _) in enumerate(added)}
    bittings = tuple(every[key.name] for key in grown.keys)
    splits = [
        [set(stack.cuts()) for stack in pins.chambers if stack is not None]
        for pins in pins_for(grown, made, bittings)
    ]
    assert right(grown, made, bittings, splits)


def test_further_levels_are_those_of_free_combinations() -> None:
    """A level is told as further when some free combination has it, and only then."""
    made = tiny(3, 4)
    job = _random_job(made, 3)
    index = job.chart.key_index()
    masters = (index["A"], index["T"])
    used = tuple(
        tuple(sorted({job.bittings[index[key]][p] for key in ("a1", "a2")})) for p in range(3)
    )
    found = Extension(job).free(masters, used, 1)
    free = _asked_whole(job, masters)
    for p, levels in enumerate(used):
        choices = [range(4) if len(one) > 1 else one for one in used]
        beyond = {cut[p] for cut in product(*choices) if cut in free} - set(levels)
        assert set(found.further[p]) == beyond
