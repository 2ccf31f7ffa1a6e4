"""The two plain forms of a chart file give the same chart."""

from pathlib import Path

import pytest

from pinloom import messages
from pinloom.chart import read_chart
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.findings import Severity

MATRIX = """\
door,opening,TOP,AA,AA1,AA2,cleaner
Loft 1,,x,x,x,,
Loft 2,,x,x,,x,
Loft stair,,x,x,x,x,x
"""
DOORS = """\
door,keys
Loft 1,AA1
Loft 2,AA2
Loft stair,AA1 AA2 cleaner
"""
KEYS = """\
key,under
AA1,AA
AA2,AA
AA,TOP
TOP,
cleaner,
"""


def who_opens(chart: AccessChart) -> dict[str, set[str]]:
    """Door name -> names of the keys that open it."""
    return {
        door.name: {chart.keys[k].name for k in row}
        for door, row in zip(chart.doors, chart.openers, strict=True)
    }


def write(folder: Path, name: str, text: str) -> Path:
    """A file with that text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_matrix_of_the_interface(tmp_path: Path) -> None:
    """The example matrix gives exactly its marks, doors in natural order."""
    read = read_chart(write(tmp_path, "m.csv", MATRIX))
    assert read.chart is not None
    assert who_opens(read.chart) == {
        "Loft 1": {"TOP", "AA", "AA1"},
        "Loft 2": {"TOP", "AA", "AA2"},
        "Loft stair": {"TOP", "AA", "AA1", "AA2", "cleaner"},
    }
    assert [f.code for f in read.findings] == ["chart-keys-same"]


def test_schedule_of_the_interface(tmp_path: Path) -> None:
    """The example schedule opens what the example matrix opens."""
    matrix = read_chart(write(tmp_path, "m.csv", MATRIX)).chart
    doors, keys = write(tmp_path, "d.csv", DOORS), write(tmp_path, "k.csv", KEYS)
    schedule = read_chart(doors, keys).chart
    assert matrix is not None
    assert schedule is not None
    assert who_opens(schedule) == who_opens(matrix)
    assert {key.name: key.under for key in schedule.keys}["AA1"] == "AA"


def test_optional_columns(tmp_path: Path) -> None:
    """Every optional column of the interface lands in its field."""
    doors = write(
        tmp_path,
        "d.csv",
        "door,keys,opening,cylinder,hardware,keyway,count,except,unpinned,core group\n"
        "Shed,A1,Gate,rim,us-5x6-023,K1,3,TOP,5 4,north\n"
        "Store,A1,,,,,,NMK,,\nYard,A,,,,,,,,\n",
    )
    keys = write(
        tmp_path,
        "k.csv",
        "key,under,copies,reserved,cuts,blank,note\n"
        "A1,A,4,,12??45,B1,for the yard\nA,TOP,,,,,\nTOP,,,,,,\nA9,A,,yes,,,\n",
    )
    chart = read_chart(doors, keys).chart
    assert chart is not None
    shed, store, _ = chart.doors
    assert (shed.opening, shed.cylinder, shed.hardware, shed.keyway) == (
        "Gate",
        "rim",
        "us-5x6-023",
        "K1",
    )
    assert (shed.count, shed.excepted, shed.unpinned, shed.core_group) == (
        3,
        ("TOP",),
        (4, 5),
        "north",
    )
    assert store.excepted == ("NMK",)
    assert who_opens(chart) == {"Shed": {"A1", "A"}, "Store": {"A1"}, "Yard": {"A", "TOP"}}
    key = next(key for key in chart.keys if key.name == "A1")
    assert (key.copies, key.given, key.blank, key.note) == (4, "12??45", "B1", "for the yard")
    standings = {key.name: key.standing for key in chart.keys}
    assert standings["A9"] is KeyStanding.RESERVED


@pytest.mark.parametrize("text", ["yes", "YES", "y", "x", "1", "true"])
def test_words_for_yes(tmp_path: Path, text: str) -> None:
    """A planned key is accepted without a door, whichever word says so."""
    doors = write(tmp_path, "d.csv", "door,keys\nShed,A1\n")
    keys = write(tmp_path, "k.csv", f"key,under,reserved\nA1,,\nA2,,{text}\n")
    read = read_chart(doors, keys)
    assert read.chart is not None
    assert read.findings == ()


def test_every_finding_has_its_words(tmp_path: Path) -> None:
    """A finding prints its place, what is wrong, what to do and its code."""
    read = read_chart(write(tmp_path, "m.csv", "door,A\nShed,x\nShed,x\n"))
    assert read.chart is None
    [twice] = [f for f in read.findings if f.severity is Severity.FAULT]
    text = messages.line(twice)
    assert text.startswith("m.csv, row 3, column door: fault: The door Shed is there twice.")
    assert "First seen: m.csv, row 2, column door." in text
    assert text.endswith("[chart-door-twice]")
