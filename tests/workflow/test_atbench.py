"""Cylinders one by one: every pin of the job is laid out once, every key of the test is tried."""

import pytest

from pinloom.core.job import Job
from pinloom.pinning import count_cylinder, parts
from pinloom.workflow.atbench import bench_of, cylinder, lay_out
from pinloom.workflow.checkoffs import Done
from tests.workflow.kit import job_of, pinned

# Two doors alike of which one is ordered twice, and one that keeps its last chamber empty.
CHART = """\
door,A,B,C,count,unpinned
Loft 1,x,,x,2,
Loft 2,,x,x,1,
Store,,,x,1,6
"""
CUTS = """\
key,stamped
A,345621
B,365621
C,345421
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """Four cylinders at three doors."""
    return job_of(pinned(tmp_path_factory.mktemp("bench"), CUTS, chart=CHART))


def test_every_cylinder_stands_there_as_often_as_ordered(job: Job) -> None:
    """Numbers run from 1; identical cylinders are told apart and follow one another."""
    pieces = bench_of(lay_out(job), {}).pieces
    assert [one.number for one in pieces] == [1, 2, 3, 4]
    twins = [one for one in pieces if one.name == "Loft 1"]
    assert [(one.copy, one.of) for one in twins] == [(0, 2), (1, 2)]
    assert twins[1].number == twins[0].number + 1


def test_the_counter_adds_up_to_the_parts_of_the_job(job: Job) -> None:
    """What is needed is what the job takes; with every chamber in, nothing is left; with one twin
    done, exactly its pins are in.
    """
    formats = [job.format_of(door) for door in range(len(job.chart.doors))]
    needed = [(one.part, one.count) for one in parts(job.chart, formats, job.pinning)]
    bench = bench_of(lay_out(job), {})
    assert [(line.part, line.needed) for line in bench.parts] == needed
    assert not any(line.used for line in bench.parts)
    every = Done(chambers=frozenset(range(6)))
    done = {(one.door, one.copy): every for one in bench.pieces}
    assert all(line.used == line.needed for line in bench_of(lay_out(job), done).parts)
    loft = job.chart.door_index()["Loft 1"]
    one = bench_of(lay_out(job), {(loft, 1): every})
    own = count_cylinder(job.format_of(loft), job.pinning[loft])
    assert {line.part: line.used for line in one.parts if line.used} == own


def test_a_cylinder_is_laid_out_chamber_by_chamber(job: Job) -> None:
    """The parts are those of its stacks, bottom-up; an empty chamber has none and is never next."""
    store = next(one for one in bench_of(lay_out(job), {}).pieces if one.name == "Store")
    shown = cylinder(lay_out(job), store)
    stacks = job.pinning[store.door].chambers
    for chamber, stack in zip(shown.chambers, stacks, strict=True):
        if stack is None:
            assert chamber.parts == ()
            continue
        sizes = [part.size for part in chamber.parts]
        made = job.format_of(store.door)
        masters = [str(size) for size in stack.masters]
        assert sizes == [str(made.number_of(stack.bottom)), *masters, stack.driver]
    assert [chamber.at for chamber in shown.chambers if not chamber.parts] == [5]
    assert shown.next_chamber == 0
    done = {(store.door, 0): Done(chambers=frozenset(range(5)))}
    again = next(one for one in bench_of(lay_out(job), done).pieces if one.name == "Store")
    assert again.set_up
    assert cylinder(lay_out(job), again).next_chamber is None


def test_the_test_tries_who_must_and_who_must_not(job: Job) -> None:
    """Loft 2 is tried with both its keys and with the one that it refuses; done when all did as
    they must.
    """
    piece = next(one for one in bench_of(lay_out(job), {}).pieces if one.name == "Loft 2")
    shown = cylinder(lay_out(job), piece)
    assert [key.name for key in shown.opens] == ["B", "C"]
    assert [key.name for key in shown.refused] == ["A"]
    assert not shown.all_tried
    keys = job.chart.key_index()
    done = Done(
        chambers=frozenset(range(6)),
        opens=frozenset({keys["B"], keys["C"]}),
        refused=frozenset({keys["A"]}),
    )
    piece = next(
        one
        for one in bench_of(lay_out(job), {(piece.door, 0): done}).pieces
        if one.name == "Loft 2"
    )
    assert cylinder(lay_out(job), piece).all_tried
    assert piece.state == "pinned"


def test_the_next_is_the_first_not_tested(job: Job) -> None:
    """A tested cylinder is passed over; when all are, nothing is next."""
    bench = bench_of(lay_out(job), {})
    first = bench.pieces[0]
    tested = {(first.door, first.copy): Done(tested=True)}
    following = bench_of(lay_out(job), tested).following
    assert following is not None
    assert following.number == 2
    every = {(one.door, one.copy): Done(tested=True) for one in bench.pieces}
    assert bench_of(lay_out(job), every).following is None
    assert bench_of(lay_out(job), every).tested == 4
