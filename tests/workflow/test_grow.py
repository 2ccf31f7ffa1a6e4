"""A job folder that grows, what a lost key asks of it, and whose room is told."""

from pathlib import Path

import pytest

from pinloom.chart import read_chart
from pinloom.core.chart import KeyStanding
from pinloom.growth.lost import Prices
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.folder import load
from pinloom.workflow.grow import GrowOrder, GrowResult, grow_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.layout import layout_of
from pinloom.workflow.lost import LostOrder, lost_key
from pinloom.workflow.room import masters
from tests.workflow.kit import write

DOORS = "door,keys\n" + "".join(f"Loft {g}{n},A{g}{n}\n" for g in "AB" for n in (1, 2, 3))
KEYS = "key,under\nTOP,\nAA,TOP\nAB,TOP\n" + "".join(
    f"A{g}{n},A{g}\n" for g in "AB" for n in (1, 2, 3)
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A designed job of two groups of three lofts."""
    paths = write(tmp_path, doors=DOORS, keys=KEYS)
    made = design_job(
        DesignOrder(
            chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
            hardware="us-6x10-015",
            out=tmp_path / "job",
            budget=200,
        )
    )
    assert made.job is not None
    assert made.job.layout is not None
    return tmp_path / "job"


def _grow(folder: Path, *, without: str = "", door: str = "", key: str = "") -> GrowResult:
    """Grow in place: lines with ``without`` left out, a door and a key added."""
    doors, keys = (
        "".join(line for line in text.splitlines(True) if not without or without not in line)
        for text in (DOORS, KEYS)
    )
    paths = write(folder.parent, grown=doors + door, grownkeys=keys + key)
    source = ChartSource(path=paths["grown"], keys=paths["grownkeys"])
    return grow_job(GrowOrder(folder=folder, chart=source, out=folder))


def test_growing_to_the_same_chart_again_keeps_the_list_of_changes(folder: Path) -> None:
    """The second time nothing is to do: same revision, and the bench's list is still there."""
    first = _grow(folder, door="Loft AA4,AA4\n", key="AA4,AA\n")
    assert first.job is not None
    assert {change.name for change in first.changes} == {"Loft AA4", "AA4"}
    listed = (folder / "changes.csv").read_bytes()
    again = _grow(folder, door="Loft AA4,AA4\n", key="AA4,AA\n")
    assert again.saved is not None
    assert again.saved.unchanged
    assert again.job == first.job
    assert (folder / "changes.csv").read_bytes() == listed


def test_the_layout_is_told_anew(folder: Path) -> None:
    """After growth the layout is that of the grown cuts: a key less, a key more."""
    before = load(folder).job
    assert before is not None
    for grown, keys in (
        (_grow(folder, without="AB3"), {"AA": 3, "AB": 2}),
        (_grow(folder, door="Loft AA4,AA4\n", key="AA4,AA\n"), {"AA": 4, "AB": 3}),
    ):
        assert grown.job is not None
        assert grown.job.layout == layout_of(grown.job)
        assert grown.job.layout is not None
        groups = {one.master: one.keys for one in grown.job.layout.groups if not one.parts}
        assert groups == keys


def test_a_retired_key_needs_no_plan(folder: Path) -> None:
    """A key that left the chart opens no door; told as lost, it is not planned to be cut again."""
    assert _grow(folder, without="AB3").job is not None
    kept = load(folder).job
    assert kept is not None
    assert kept.chart.keys[kept.chart.key_index()["AB3"]].standing is KeyStanding.RETIRED
    result = lost_key(LostOrder(key="AB3", folder=folder, prices=Prices()))
    assert [finding.code for finding in result.findings] == ["lost-key-retired"]
    assert result.plans == ()


def test_every_master_of_a_schedule_has_room_told(tmp_path: Path) -> None:
    """A master over a single change key is a master where the table of keys says so; a cross key
    over one other key is none."""
    paths = write(
        tmp_path,
        doors="door,keys\nLoft 1,AA1 cleaner\nLoft 2,AA2\nShed,AB1\nHall,cleaner\n",
        keys="key,under\nTOP,\nAA,TOP\nAB,TOP\nAA1,AA\nAA2,AA\nAB1,AB\ncleaner,\n",
    )
    chart = read_chart(paths["doors"], paths["keys"]).chart
    assert chart is not None
    assert masters(chart) == ("AA", "AB", "TOP")
