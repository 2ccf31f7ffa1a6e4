"""Existing cuts and pins taken as they are: pinned, proved, every fault reported."""

from pathlib import Path

import pytest

from pinloom.core.job import FaultKind
from pinloom.core.stacks import PinStack
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.pin import PinOrder, PinResult, pin
from tests.workflow.kit import (
    FORMAT,
    KEYNOTES_BITTINGS,
    KEYNOTES_CHART,
    MENDED_BITTINGS,
    codes,
    job_of,
    pinned,
    write,
)


@pytest.mark.published
def test_keynotes_as_printed(tmp_path: Path) -> None:
    """*Keynotes*, February 2022, p. 36: 11 master pins; maintenance opens 104A, 104B (seen) and 106
    (derived) wrongly, and nothing else is wrong.
    """
    job = job_of(pinned(tmp_path, KEYNOTES_BITTINGS))
    found = [(fault.kind, fault.key, fault.door) for fault in job.proof.faults]
    assert found == [(FaultKind.OPENS, "maintenance", door) for door in ("104A", "104B", "106")]
    pins = {one.door: one.master_pins() for one in job.pinning}
    assert pins == {
        "101": 3, "102": 0, "103": 1, "104A": 2, "104B": 2, "105": 0, "106": 3, "107": 0
    }  # fmt: skip


@pytest.mark.published
def test_keynotes_mended(tmp_path: Path) -> None:
    """The same chart with cleaning as the common base: 8 master pins and no fault (derived)."""
    job = job_of(pinned(tmp_path, MENDED_BITTINGS))
    assert job.proof.proved
    assert sum(one.master_pins() for one in job.pinning) == 8


def _field(folder: Path, pinning: str, bittings: str = MENDED_BITTINGS) -> PinResult:
    paths = write(folder, chart=KEYNOTES_CHART, cuts=bittings, pins=pinning)
    return pin(
        PinOrder(
            chart=ChartSource(path=paths["chart"]),
            hardware=FORMAT,
            bittings=paths["cuts"],
            pinning=paths["pins"],
            out=folder / "field",
        )
    )


HEAD = "door,chamber,bottom,masters,buildup,driver\n"


def test_pins_of_a_job_folder_are_taken_as_they_are(tmp_path: Path) -> None:
    """A job's own pinning.csv gives the same job."""
    job = job_of(pinned(tmp_path))
    text = (tmp_path / "job/pinning.csv").read_text()
    again = _field(tmp_path, text)
    assert job_of(again).pinning == job.pinning
    assert job_of(again).proof == job.proof


def test_a_wrong_pin_in_the_field_is_a_fault_of_its_door(tmp_path: Path) -> None:
    """One bottom pin two steps off in 107: its own key no longer opens it; nothing else changes."""
    pinned(tmp_path)
    text = (tmp_path / "job/pinning.csv").read_text()
    wrong = text.replace("107,1,3,,,1", "107,1,5,,,2")
    assert wrong != text
    job = job_of(_field(tmp_path, wrong))
    assert [(f.kind, f.key, f.door) for f in job.proof.faults] == [
        (FaultKind.BLOCKED, "maintenance", "107")
    ]


def test_an_incomplete_pinning_is_filled_in_and_said(tmp_path: Path) -> None:
    """Doors without rows are pinned for the chart, chambers too, a missing driver is looked up."""
    result = _field(tmp_path, HEAD + "106,2,4,,,2\n106,1,3,,,\n101,1,3,,,1\n")
    job = job_of(result)
    assert job.proof.proved
    said = [one for one in result.findings if one.code.startswith("pins-")]
    assert [(one.code, dict(one.values)) for one in said] == [
        ("pins-doors-computed", {"doors": "6", "door": "102"}),
        ("pins-chambers-computed", {"door": "101", "chambers": "2, 3, 4, 5, 6"}),
        ("pins-chambers-computed", {"door": "106", "chambers": "3, 4, 5, 6"}),
    ]
    assert job.pinning[6].door == "106"
    assert job.pinning[6].chambers[0] == PinStack(bottom=3, driver="1")


def test_an_empty_chamber_in_the_field_is_empty(tmp_path: Path) -> None:
    """All four cells empty: no pins there, and the proof sees what that lets in."""
    result = _field(tmp_path, HEAD + "102,3,,,,\n")
    job = job_of(result)
    assert job.pinning[1].chambers[2] is None
    assert {(f.kind, f.key) for f in job.proof.faults if f.door == "102"} == {
        (FaultKind.OPENS, "cleaning")
    }


@pytest.mark.parametrize(
    ("rows", "found"),
    [
        ("999,1,3,,,1\n", "pins-door-unknown"),
        ("101,7,3,,,1\n", "pins-no-such-chamber"),
        ("101,0,3,,,1\n", "pins-no-such-chamber"),
        ("101,x,3,,,1\n", "pins-no-such-chamber"),
        ("101,1,3,,,1\n101,1,4,,,2\n", "pins-chamber-twice"),
        ("101,1,10,,,1\n", "pins-no-such-bottom"),
        ("101,1,,2,,1\n", "pins-no-such-bottom"),
        ("101,1,3,two,,1\n", "pins-bad-steps"),
        ("101,1,3,0,,1\n", "pins-bad-steps"),
        ("101,1,3,2,-4,1\n", "pins-bad-steps"),
    ],
)
def test_each_fault_of_a_pinning_has_its_finding(tmp_path: Path, rows: str, found: str) -> None:
    """Bad rows are named with their place, and nothing is written."""
    result = _field(tmp_path, HEAD + rows)
    faults = [one for one in result.findings if one.severity.value == "fault"]
    assert codes(faults) == [found]
    assert faults[0].place.row == 1 + rows.count("\n")
    assert result.job is None
    assert not (tmp_path / "field").exists()


def test_faults_of_all_inputs_come_together(tmp_path: Path) -> None:
    """Chart, format, cuts and target are all read before anything is refused."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out/notes.txt").write_text("mine")
    paths = write(tmp_path, chart=KEYNOTES_CHART, cuts="key,stamped\nsales,1\n", pins="door\n1\n")
    result = pin(
        PinOrder(
            chart=ChartSource(path=paths["chart"]),
            hardware=FORMAT,
            bittings=paths["cuts"],
            pinning=paths["pins"],
            out=tmp_path / "out",
            controls=("1234567",),
        )
    )
    found = set(codes(result.findings))
    assert {
        "folder-not-ours",
        "cuts-stamp-unreadable",
        "cuts-column-missing",
        "job-control-without-core",
    } <= found
    assert list((tmp_path / "out").iterdir()) == [tmp_path / "out/notes.txt"]
