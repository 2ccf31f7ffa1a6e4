"""Growing, shrinking and mending small systems."""

from itertools import product

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ClaimKind, Job
from pinloom.growth.grow import Grown, NotGrown, grow
from pinloom.hardware import load_format
from tests.growth.kit import chart_of, job_of, right, tiny

# Keynotes (Associated Locksmiths of America), February 2022, printed p. 36.
K1_ROWS = {
    "101": "maintenance sales quality cleaning",
    "102": "sales",
    "103": "maintenance cleaning",
    "104A": "sales cleaning",
    "104B": "sales cleaning",
    "105": "quality",
    "106": "sales quality cleaning",
    "107": "maintenance",
}
K1_CUTS = {
    "maintenance": (3, 4, 5, 6, 2, 1),
    "sales": (3, 6, 5, 6, 2, 1),
    "quality": (3, 4, 3, 6, 2, 1),
    "cleaning": (3, 4, 5, 4, 2, 1),
}


def _k1() -> tuple[Job, HardwareFormat]:
    made = load_format("us-6x10-015").format
    assert made is not None
    chart = chart_of(K1_ROWS)
    return job_of(chart, made, tuple(K1_CUTS[key.name] for key in chart.keys)), made


def _grow(job: Job, chart: AccessChart, recut: frozenset[str] = frozenset()) -> Grown | NotGrown:
    return grow(job, chart, (job.key_format,) * len(chart.doors), may_recut=recut)


def _proved(job: Job, answer: Grown) -> bool:
    """Brute force: doors to re-pin for exactly their keys, the others as they were."""
    field = {pins.door: pins for pins in job.pinning}
    splits = []
    for door, row in zip(answer.chart.doors, answer.chart.openers, strict=True):
        if door.name in answer.repin:
            splits.append(
                [{answer.bittings[k][p] for k in row} for p in range(len(answer.bittings[0]))]
            )
        else:
            splits.append([set(s.cuts()) if s else set() for s in field[door.name].chambers])
    return right(answer.chart, job.key_format, answer.bittings, splits)


@pytest.mark.published
def test_k1_as_printed_cannot_be_mended_by_pins_alone() -> None:
    """Keynotes, February 2022, p. 36: the printed cuts open 104A, 104B and 106 wrongly, and no
    re-pinning helps: 104A admits sales and cleaning, and then it admits maintenance.
    """
    job, _ = _k1()
    answer = _grow(job, job.chart)
    assert isinstance(answer, NotGrown)
    assert answer.proved
    assert set(answer.clashes) == {
        ("maintenance", "104A"),
        ("maintenance", "104B"),
        ("maintenance", "106"),
    }


@pytest.mark.published
def test_k1_as_printed_is_mended_by_one_key_and_three_cylinders() -> None:
    """The same chart with every key allowed: one key re-cut, three cylinders re-pinned, both the
    least, which exhaustion over all cuts of every single key confirms.
    """
    job, made = _k1()
    answer = _grow(job, job.chart, frozenset(K1_CUTS))
    assert isinstance(answer, Grown)
    assert _proved(job, answer)
    assert answer.recut == ("maintenance",)
    figures = {claim.measure: (claim.value, claim.kind) for claim in answer.claims}
    assert figures["keys re-cut"] == (1, ClaimKind.PROVED_LEAST)
    assert figures["cylinders re-pinned"] == (3, ClaimKind.PROVED_LEAST)
    assert figures["cylinders re-pinned"][0] == min(
        count for name in K1_CUTS for count in _least_doors(job, made, name)
    )


def _least_doors(job: Job, made: HardwareFormat, name: str) -> list[int]:
    """By exhaustion: for every cut of one key that mends the chart, the doors that change pins.

    Only cuts that differ in one or two chambers from the printed ones can leave any door of the key
    alone, and the best is at least as good as any other, so those are tried and one far cut.
    """
    chart = job.chart
    key = chart.key_index()[name]
    field = [[set(s.cuts()) if s else set() for s in pins.chambers] for pins in job.pinning]
    old = job.bittings[key]
    counts = []
    near = {
        tuple(b if p == q else (c if p == r else v) for p, v in enumerate(old))
        for q, r in product(range(6), repeat=2)
        for b, c in product(range(10), repeat=2)
    }
    for cut in near:
        cuts = tuple(cut if k == key else other for k, other in enumerate(job.bittings))
        if len(set(cuts)) < len(cuts) or any(
            abs(a - b) > made.macs for a, b in zip(cut, cut[1:], strict=False)
        ):
            continue
        least = [[{cuts[k][p] for k in row} for p in range(6)] for row in chart.openers]
        wrong_pins = any(
            b - a not in made.master_pins
            for door in least
            for levels in door
            for a, b in zip(sorted(levels), sorted(levels)[1:], strict=False)
        )
        if wrong_pins or not right(chart, made, cuts, least):
            continue
        same = [right(_only(chart, d), made, cuts, [field[d]]) for d in range(len(chart.doors))]
        counts.append(same.count(False))
    return counts


def _only(chart: AccessChart, door: int) -> AccessChart:
    """The chart with one door, all its keys kept."""
    names = [key.name for key in chart.keys]
    return chart_of(
        {chart.doors[door].name: " ".join(names[k] for k in chart.openers[door])},
        reserved=" ".join(names),
    )


def test_growing_by_nothing_changes_nothing() -> None:
    """The same chart again: no key, no cylinder, and zero is proved to be the least."""
    made = tiny()
    chart = chart_of({"a": "M A", "b": "M B", "c": "M C"})
    cuts: tuple[Bitting, ...] = ((0, 1, 1), (1, 0, 1), (1, 1, 0), (1, 1, 1))
    cuts = ((0, 1, 2), (1, 0, 2), (1, 1, 0), (1, 1, 2))
    job = job_of(chart, made, cuts)
    answer = _grow(job, chart)
    assert isinstance(answer, Grown)
    assert (answer.repin, answer.recut, answer.added) == ((), (), ())
    assert answer.bittings == cuts
    assert all(claim.kind is ClaimKind.PROVED_LEAST for claim in answer.claims)


def test_a_new_door_and_key_leave_all_others_alone() -> None:
    """One key and one door more: only the new door is pinned, and the old cuts stay."""
    made = tiny(depths=5)
    chart = chart_of({"a": "M A", "b": "M B"})
    job = job_of(chart, made, ((0, 1, 2), (1, 0, 2), (1, 1, 2)))
    wanted = chart_of({"a": "M A", "b": "M B", "c": "M C"})
    answer = _grow(job, wanted)
    assert isinstance(answer, Grown)
    assert answer.repin == ("c",)
    assert answer.added == ("C",)
    assert _proved(job, answer)


def test_a_removed_key_stays_in_the_proof_and_opens_nothing() -> None:
    """A key that the wanted chart drops is retired, keeps its cuts, and its doors shut it out."""
    made = tiny(depths=5)
    chart = chart_of({"a": "M A X", "b": "M B X"})
    job = job_of(chart, made, ((0, 1, 2), (1, 0, 2), (1, 1, 2), (1, 1, 4)))
    answer = _grow(job, chart_of({"a": "M A", "b": "M B"}))
    assert isinstance(answer, Grown)
    gone = answer.chart.keys[answer.chart.key_index()["X"]]
    assert gone.standing is KeyStanding.RETIRED
    assert answer.repin == ("a", "b")
    assert _proved(job, answer)


def test_growing_twice_ends_in_a_legal_state_of_growing_once() -> None:
    """Two doors one after the other: the end serves the whole chart, as growing at once does."""
    made = tiny(depths=5)
    job = job_of(chart_of({"a": "M A", "b": "M B"}), made, ((0, 1, 2), (1, 0, 2), (1, 1, 2)))
    middle = chart_of({"a": "M A", "b": "M B", "c": "M C"})
    end = chart_of({"a": "M A", "b": "M B", "c": "M C", "d": "M D"})
    once = _grow(job, end)
    first = _grow(job, middle)
    assert isinstance(once, Grown)
    assert isinstance(first, Grown)
    second = _grow(job_of(first.chart, made, first.bittings), end)
    assert isinstance(second, Grown)
    assert _proved(job, once)
    assert _proved(job_of(first.chart, made, first.bittings), second)
    assert second.bittings[:2] == once.bittings[:2] == job.bittings[:2]
