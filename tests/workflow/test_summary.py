"""The figures of a job, counted by hand on charts that stand here."""

from pathlib import Path

from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.pin import PinOrder, pin
from pinloom.workflow.summary import summarise
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, job_of, pinned, write

CHART = """\
door,keys,count
Loft 1,A1,3
Loft 2,A2,1
Stair,A1 A2 B,2
"""
KEYS = "key,under,copies,reserved\nTOP,,2,\nA,TOP,,\nA1,A,5,\nA2,A,,\nB,,1,\nspare,,,yes\n"
CUTS = """\
key,stamped
TOP,111111
A,311111
A1,331111
A2,351111
B,731111
spare,999999
"""


def test_a_tree_is_counted(tmp_path: Path) -> None:
    """Three rows of six cylinders, six keys of which one reserved, three levels, pins by piece."""
    paths = write(tmp_path, chart=CHART, keys=KEYS, cuts=CUTS)
    job = job_of(
        pin(
            PinOrder(
                chart=ChartSource(path=paths["chart"], keys=paths["keys"]),
                hardware=FORMAT,
                bittings=paths["cuts"],
                out=tmp_path / "job",
            )
        )
    )
    found = summarise(job)
    assert (found.doors, found.cylinders) == (3, 6)
    assert (found.keys, found.reserved, found.retired, found.control_keys) == (6, 1, 0, 0)
    assert found.copies == 8
    assert found.levels == 3
    # Loft 1: TOP A A1 = 1/3, 1/3: two pins; Loft 2 the same; Stair: 1/3/7, 1/3/5: four pins
    assert found.master_pins == 3 * 2 + 1 * 2 + 2 * 4
    assert found.most_in_cylinder == 4
    assert found.crowded == 0
    springs = [one.count for one in found.parts if one.part.kind.value == "spring"]
    assert springs == [6 * 6]


def test_a_matrix_has_levels_too(tmp_path: Path) -> None:
    """No key of the published chart holds another whole one, so there is one level."""
    assert summarise(job_of(pinned(tmp_path, KEYNOTES_BITTINGS))).levels == 1


def test_crowded_chambers_are_counted_by_piece(tmp_path: Path) -> None:
    """Four different cuts in one chamber are three master pins: one chamber above two, twice."""
    chart = "door,A,B,C,D,count\nGate,x,x,x,x,2\n"
    cuts = "key,stamped\nA,111111\nB,311111\nC,511111\nD,711111\n"
    job = job_of(pinned(tmp_path, cuts, chart=chart))
    assert summarise(job).crowded == 2
