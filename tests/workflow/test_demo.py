"""Alder Quay: the chart that ships is what the demo says it is."""

from importlib.resources import files
from pathlib import Path

from pinloom.chart import read_chart
from pinloom.core.findings import Severity
from pinloom.hardware import load_format
from pinloom.workflow.demo import DOORS, FORMAT, KEYS, demo


def _chart_folder() -> Path:
    return Path(str(files("pinloom.workflow") / "alder_quay"))


def test_the_chart_is_a_boatyard() -> None:
    """26 doors and 20 keys in a tree of three levels, shared doors, a cleaner, a fire warden, and a
    store for one key alone; every person is a role.
    """
    read = read_chart(_chart_folder() / "doors.csv", _chart_folder() / "keys.csv")
    chart = read.chart
    assert chart is not None
    assert not [one for one in read.findings if one.severity is not Severity.NOTE]
    assert (len(chart.doors), len(chart.keys)) == (26, 20)
    keys = chart.key_index()
    openers = {door.name: row for door, row in zip(chart.doors, chart.openers, strict=True)}
    assert openers["Flare store"] == (keys["SKD1"],)
    shared = [name for name, row in openers.items() if len(row) > 4]
    assert len(shared) >= 5
    opened = [len(column) for column in chart.doors_of()]
    assert opened[keys["TOP"]] == 25
    assert opened[keys["cleaner"]] > 1
    assert opened[keys["warden"]] > 1
    assert all(key.note for key in chart.keys)


def test_the_format_rests_on_published_numbers() -> None:
    """No number of the demo's format is from memory."""
    made = load_format(FORMAT).format
    assert made is not None
    assert made.from_memory() == ()


def test_the_demo_is_proved_and_leaves_edited_charts_alone(tmp_path: Path) -> None:
    """Proved within its budget; copies of the chart appear once and are never written over."""
    first = demo(tmp_path / "out")
    assert first.result.job is not None
    assert first.result.job.proof.proved
    assert (tmp_path / "out" / DOORS).read_bytes() == (_chart_folder() / "doors.csv").read_bytes()
    assert (tmp_path / "out" / KEYS).read_bytes() == (_chart_folder() / "keys.csv").read_bytes()
    for name in (DOORS, KEYS):
        assert (tmp_path / "out" / name).stat().st_mode & 0o777 == 0o600
    (tmp_path / "out" / DOORS).write_text("mine")
    again = demo(tmp_path / "out")
    assert (tmp_path / "out" / DOORS).read_text() == "mine"
    assert again.result.saved is not None
    assert again.result.saved.unchanged


def test_a_place_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """A file where the folder should go is a finding."""
    (tmp_path / "out").write_text("mine")
    shown = demo(tmp_path / "out")
    assert [one.code for one in shown.result.findings] == ["folder-unwritable"]
