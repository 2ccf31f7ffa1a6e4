"""Edits of a chart: all or none, by name, nothing lost on the way."""

import json

import pytest

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.workflow.edits import Edit, applied, read_edits

OPENS = {"Loft 1": ["A1", "A", "TOP"], "Loft 2": ["A2", "A", "TOP"], "Shed": ["B", "TOP"]}


def _chart() -> AccessChart:
    keys = [
        Key(name="TOP", copies=2),
        Key(name="A", under="TOP"),
        Key(name="A1", under="A", note="sailmaker"),
        Key(name="A2", under="A"),
        Key(name="B", under="TOP"),
    ]
    doors = [Door(name="Loft 1"), Door(name="Loft 2", count=2), Door(name="Shed", excepted=("A",))]
    return AccessChart.build(doors, keys, OPENS)


def _edits(*edits: dict[str, object]) -> tuple[Edit, ...]:
    read = read_edits(json.dumps(edits))
    assert read is not None
    return read


def _apply(*edits: dict[str, object]) -> AccessChart:
    chart, found = applied(_chart(), _edits(*edits))
    assert found == ()
    assert chart is not None
    return chart


def _opens(chart: AccessChart) -> dict[str, set[str]]:
    return {
        door.name: {chart.keys[key].name for key in row}
        for door, row in zip(chart.doors, chart.openers, strict=True)
    }


def test_a_mark_changes_one_cell() -> None:
    """Set and taken off; everything else is as before."""
    chart = _apply({"do": "mark", "door": "Shed", "key": "A1", "on": True})
    assert _opens(chart) == {**{d: set(k) for d, k in OPENS.items()}, "Shed": {"A1", "B", "TOP"}}
    assert chart.doors == _chart().doors
    off = _apply({"do": "mark", "door": "Loft 1", "key": "A1", "on": False})
    assert _opens(off)["Loft 1"] == {"A", "TOP"}


def test_a_mark_twice_is_once() -> None:
    """Setting what is set changes nothing, so nothing is written for it."""
    assert _apply({"do": "mark", "door": "Shed", "key": "B", "on": True}) == _chart()


def test_new_doors_and_keys_find_their_places() -> None:
    """A door and a key come, marked in the same write, in natural order of names."""
    chart = _apply(
        {"do": "door", "name": " Loft  10 "},
        {"do": "key", "name": "A3", "under": "A"},
        {"do": "mark", "door": "Loft 10", "key": "A3", "on": True},
    )
    assert [door.name for door in chart.doors] == ["Loft 1", "Loft 2", "Loft 10", "Shed"]
    assert _opens(chart)["Loft 10"] == {"A3"}
    assert _opens(chart)["Loft 2"] == {"A2", "A", "TOP"}
    assert next(key for key in chart.keys if key.name == "A3").under == "A"


def test_a_removed_master_leaves_its_keys_to_its_own() -> None:
    """A goes: its marks go, A1 and A2 come under TOP, and no door is outside a master that is not
    there.
    """
    chart = _apply({"do": "drop-key", "name": "A"})
    assert _opens(chart) == {"Loft 1": {"A1", "TOP"}, "Loft 2": {"A2", "TOP"}, "Shed": {"B", "TOP"}}
    assert {key.name: key.under for key in chart.keys}["A1"] == "TOP"
    shed = next(door for door in chart.doors if door.name == "Shed")
    assert "A" not in shed.excepted


def test_a_new_name_changes_nothing_else() -> None:
    """Marks, masters, notes and counts follow the name."""
    chart = _apply(
        {"do": "rename-key", "name": "A", "to": "LOFTS"},
        {"do": "rename-door", "name": "Loft 2", "to": "Loft two"},
    )
    assert _opens(chart)["Loft two"] == {"A2", "LOFTS", "TOP"}
    keys = {key.name: key for key in chart.keys}
    assert keys["A1"].under == "LOFTS"
    assert keys["A1"].note == "sailmaker"
    doors = {door.name: door for door in chart.doors}
    assert doors["Loft two"].count == 2
    assert doors["Shed"].excepted == ("LOFTS",)


def test_one_fault_stops_the_whole_write() -> None:
    """Every fault is told at once, and no edit of the write is made."""
    chart, found = applied(
        _chart(),
        _edits(
            {"do": "mark", "door": "Shed", "key": "A1", "on": True},
            {"do": "mark", "door": "Barn", "key": "A1", "on": True},
            {"do": "door", "name": "loft 1"},
            {"do": "key", "name": "\u200b"},
            {"do": "key", "name": "C", "under": "none"},
            {"do": "rename-door", "name": "Loft 1", "to": ""},
            {"do": "drop-key", "name": "Z"},
        ),
    )
    assert chart is None
    assert [one.code for one in found] == [
        "edit-unknown",
        "edit-taken",
        "edit-name",
        "edit-unknown",
        "edit-name",
        "edit-unknown",
    ]


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[1]", '[{"do": "burn", "name": "x"}]', '[{"do": "mark", "door": 1}]', "[" * 99],
)
def test_what_is_no_list_of_edits_is_none(text: str) -> None:
    """Nothing of another form is taken for an edit."""
    assert read_edits(text) is None
