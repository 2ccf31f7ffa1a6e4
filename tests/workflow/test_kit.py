"""Pins on hand: read from a table, a rule and a goal of a design, and what to buy otherwise."""

from pathlib import Path

import pytest

from pinloom.core.bench import PartKind
from pinloom.core.request import Designed, ProvedImpossible
from pinloom.pinning import Kit, Verdict
from pinloom.workflow.design import DesignOrder, DesignResult, design_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.kit import read_kit
from tests.pinning.kit import shipped
from tests.workflow.kit import FORMAT, KEYNOTES_CHART, codes, write

KIT = "part,size,count\nmaster,2,10\nMaster pin,0.060 in,\nspring,,100\n"


def _design(folder: Path, kit: str, chart: str = KEYNOTES_CHART) -> DesignResult:
    paths = write(folder, chart=chart, kit=kit)
    return design_job(
        DesignOrder(
            chart=ChartSource(path=paths["chart"]),
            hardware=FORMAT,
            out=folder / "job",
            budget=2_000,
            kit=paths["kit"],
        )
    )


def test_a_kit_is_read_in_the_sizes_of_the_format(tmp_path: Path) -> None:
    """Numbers and lengths, counts and plenty."""
    read = read_kit(write(tmp_path, kit=KIT)["kit"], shipped(FORMAT))
    assert read.findings == ()
    assert read.kit == Kit.of(
        {(PartKind.MASTER, "2"): 10, (PartKind.MASTER, "4"): None, (PartKind.SPRING, ""): 100}
    )


def test_all_faults_of_a_kit_come_at_once(tmp_path: Path) -> None:
    """Unknown part, bad count, a size twice: three faults with their rows; a foreign size is only
    a caution.
    """
    text = "part,size,count\nwasher,1,2\nmaster,2,many\nmaster,3,1\nmaster,3,2\nmaster,1,5\n"
    read = read_kit(write(tmp_path, kit=text)["kit"], shipped(FORMAT))
    assert read.kit is None
    assert [(f.code, f.place.row) for f in read.findings] == [
        ("kit-part-unknown", 2),
        ("kit-bad-count", 3),
        ("kit-size-twice", 5),
        ("kit-size-unknown", 6),
    ]
    lacking = read_kit(write(tmp_path, kit="part,size\nmaster,2\n")["kit"], shipped(FORMAT))
    assert "kit-column-missing" in codes(lacking.findings)


@pytest.mark.parametrize("absent", [2, 3, 4])
def test_a_design_without_a_size_that_is_not_there(tmp_path: Path, absent: int) -> None:
    """Every size but one on hand: a proved design of the published chart that does without it."""
    rows = [f"master,{size},50" for size in range(2, 10) if size != absent]
    result = _design(tmp_path, "part,size,count\n" + "\n".join(rows) + "\n")
    assert result.job is not None
    assert result.job.proof.proved
    used = {pin for c in result.job.pinning for s in c.chambers if s for pin in s.masters}
    assert used
    assert absent not in used
    assert result.kit is not None
    assert result.kit.short == ()


def test_what_is_short_is_no_more_than_it_must_be(tmp_path: Path) -> None:
    """The published chart needs 8 master pins; with 3 on hand any design is 5 short, and is."""
    result = _design(tmp_path, "part,size,count\nmaster,2,1\nmaster,4,2\n")
    assert result.job is not None
    assert result.kit is not None
    assert result.kit.masters_short == 5 == result.kit.bound


def test_counts_are_a_goal(tmp_path: Path) -> None:
    """Two pins of one size and plenty of another: the design that needs no pin bought is found."""
    result = _design(tmp_path, "part,size,count\nmaster,2,2\nmaster,4,50\nmaster,6,1\n")
    assert result.job is not None
    assert result.job.proof.proved
    assert result.kit is not None
    assert result.kit.masters_short == 0


def test_what_to_buy_where_no_design_exists(tmp_path: Path) -> None:
    """Without any master pins the published chart is impossible; one size is enough, proved
    least.
    """
    result = _design(tmp_path, "part,size,count\nmaster,2,0\n")
    assert isinstance(result.outcome, ProvedImpossible)
    assert result.kit is not None
    assert result.kit.purchase is not None
    assert result.kit.purchase.verdict is Verdict.POSSIBLE
    assert result.kit.purchase.sizes is not None
    assert len(result.kit.purchase.sizes) == 1
    assert result.kit.purchase.least
    assert not (tmp_path / "job").exists()


def test_a_kit_without_master_pins_restricts_nothing(tmp_path: Path) -> None:
    """A box of springs says nothing about master pins; what it does not speak of is said."""
    result = _design(tmp_path, "part,size,count\nspring,,1\n")
    assert isinstance(result.outcome, Designed)
    assert result.kit is not None
    assert [(one.part.kind, one.missing) for one in result.kit.short] == [(PartKind.SPRING, 47)]
    assert "kit-kinds-absent" in codes(result.findings)


def test_a_bad_kit_stops_before_the_search(tmp_path: Path) -> None:
    """Nothing is designed or written from a kit with faults."""
    result = _design(tmp_path, "part,size,count\nwasher,1,1\n")
    assert result.outcome is None
    assert "kit-part-unknown" in codes(result.findings)
    assert not (tmp_path / "job").exists()
