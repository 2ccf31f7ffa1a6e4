"""Room asked for in the chart: read in every form, written back, and refused with its place."""

from pathlib import Path

import pytest

from pinloom.chart import read_chart
from pinloom.chart.write import write_matrix, write_schedule
from pinloom.core.groups import above, change_keys, groups, masters, with_further
from pinloom.core.room import RoomWish, read_wish
from tests.chart.kit import book_file, text_file

DOORS = "door,keys\nLoft 1,AA1\nLoft 2,AA2\nLoft stair,AA1 AA2\nOffice,AB1\n"
KEYS = "key,under,room\nTOP,,\nAA,TOP,30\nAB,TOP,50%\nAA1,AA,\nAA2,AA,\nAB1,AB,\n"
MATRIX = "door,TOP,AA1,AA2\nLoft 1,x,x,\nLoft 2,x,,x\nLoft stair,x,x,x\n"


def test_wishes_as_written() -> None:
    """Whole numbers and percentages, rounded up; nothing else."""
    assert read_wish(" 30 ") == RoomWish(number=30)
    assert read_wish("30 %") == RoomWish(number=30, percent=True)
    assert RoomWish(number=30, percent=True).of(11) == 4
    assert RoomWish(number=30).of(11) == 30
    for text in ("", "-3", "3.5", "1001%", "100001", "many", "%"):
        assert read_wish(text) is None


def test_schedule_matrix_and_workbook_say_the_same(tmp_path: Path) -> None:
    """The column is read from a table of keys beside either form, and from a percent cell."""
    doors, keys = text_file(tmp_path, "d.csv", DOORS), text_file(tmp_path, "k.csv", KEYS)
    chart = read_chart(doors, keys).chart
    assert chart is not None
    wishes = {key.name: str(key.room) for key in chart.keys if key.room}
    assert wishes == {"AA": "30", "AB": "50%"}
    book = tmp_path / "chart.xlsx"
    for write in (write_matrix, write_schedule):
        assert write(chart, book) == ()
        assert read_chart(book).chart == chart
    grid = [line.split(",") for line in MATRIX.splitlines()]
    table: list[list[object]] = [["key", "room"], ["TOP", 0.3], ["AA1"], ["AA2"]]
    read = read_chart(book_file(tmp_path, "m.xlsx", {"doors": grid, "keys": table}))
    assert read.chart is not None
    assert read.chart.keys[2].room == RoomWish(number=30, percent=True)


def test_a_matrix_alone_says_what_it_loses(tmp_path: Path) -> None:
    """Written as one CSV file, the wish is named among what is lost."""
    chart = read_chart(
        text_file(tmp_path, "d.csv", DOORS), text_file(tmp_path, "k.csv", KEYS)
    ).chart
    assert chart is not None
    (lost,) = write_matrix(chart, tmp_path / "m.csv")
    assert "room" in dict(lost.values)["lost"]


def test_bad_wishes_come_all_at_once(tmp_path: Path) -> None:
    """What is no number, and a key that is no master, each with its row and column."""
    keys = "key,under,room\nTOP,,many\nAA,TOP,-3\nAB,TOP,\nAA1,AA,4\nAA2,AA,\nAB1,AB,0\n"
    read = read_chart(text_file(tmp_path, "d.csv", DOORS), text_file(tmp_path, "k.csv", keys))
    assert read.chart is None
    assert [(f.code, f.place.row, f.place.column) for f in read.findings] == [
        ("chart-room", 2, "room"),
        ("chart-room", 3, "room"),
        ("room-no-master", 5, "key"),
    ]


@pytest.mark.parametrize("matrix", [True, False])
def test_masters_and_groups(tmp_path: Path, matrix: bool) -> None:
    """Masters show in the marks or in the table of keys; cross keys belong to no group."""
    if matrix:
        read = read_chart(text_file(tmp_path, "m.csv", MATRIX))
        expected = {"TOP": 2}
    else:
        read = read_chart(text_file(tmp_path, "d.csv", DOORS), text_file(tmp_path, "k.csv", KEYS))
        expected = {"AA": 2, "AB": 1}
    chart = read.chart
    assert chart is not None
    assert groups(chart) == expected
    assert set(masters(chart)) == ({"TOP"} if matrix else {"TOP", "AA", "AB"})
    assert change_keys(chart, "TOP") == (2 if matrix else 3)


def test_a_further_door_has_the_masters_of_its_group(tmp_path: Path) -> None:
    """AB and its only change key open the same doors; a further door is for AB and those above."""
    chart = read_chart(
        text_file(tmp_path, "d.csv", DOORS), text_file(tmp_path, "k.csv", KEYS)
    ).chart
    assert chart is not None
    names = [key.name for key in chart.keys]
    assert [names[k] for k in above(chart, names.index("AB"))] == ["AB", "TOP"]
    grown = with_further(chart, {"AB": 2, "AA": 1})
    assert {master: len(keys) for master, keys in grown.keys.items()} == {"AA": 1, "AB": 2}
    opens = grown.chart.opens()
    for master, keys in grown.keys.items():
        for key in keys:
            assert set(opens[key]) == {key, master, "TOP"}
    assert grown.like[grown.keys["AB"][0]] == "Office"
