"""A chart printed back, as a person sees it."""

import pytest
from hypothesis import given, settings

from pinloom.chart import as_text
from pinloom.chart.show import columns
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from tests.chart.strategies import charts


def quay(doors: list[Door]) -> AccessChart:
    """Three cylinders of a boatyard under one master."""
    keys = [
        Key(name="TOP"),
        Key(name="AA1", under="TOP", copies=3),
        Key(name="AA2", under="TOP", given="123456"),
        Key(name="cleaner", note="one a shift"),
        Key(name="AA9", under="TOP", standing=KeyStanding.RESERVED),
    ]
    opens = {
        "Loft 1": ["AA1", "TOP"],
        "Loft 2": ["AA2", "TOP"],
        "Loft stair": ["AA1", "AA2", "TOP", "cleaner"],
    }
    return AccessChart.build(doors, keys, opens)


PLAIN = """\
3 doors, 5 keys, 8 marks

           AA1 AA2 AA9 cleaner TOP
Loft 1     x   .   .   .       x
Loft 2     .   x   .   .       x
Loft stair x   x   .   x       x

Keys
cleaner: 1 door, one a shift
TOP: 3 doors
  AA1: 2 doors, 3 copies
  AA2: 2 doors, cuts given
  AA9: reserved
"""

LISTED = """\
3 doors, 4 cylinders, 5 keys, 8 marks

Loft 1      AA1 TOP
Loft 2      AA2 TOP (2 cylinders; except
            GM)
Loft stair  AA1 AA2 cleaner TOP

Keys
cleaner: 1 door, one a shift
TOP: 3 doors
  AA1: 2 doors, 3 copies
  AA2: 2 doors, cuts given
  AA9: reserved
"""


def test_matrix_where_it_fits() -> None:
    """A chart that fits is shown as marks, with the tree of keys below; cuts stay unsaid."""
    doors = [Door(name="Loft 1"), Door(name="Loft 2"), Door(name="Loft stair")]
    assert as_text(quay(doors)) == PLAIN


def test_lists_where_doors_have_more_to_say() -> None:
    """Doors with data of their own are shown as lists, broken at the width asked for."""
    doors = [
        Door(name="Loft 1"),
        Door(name="Loft 2", count=2, excepted=("GM",)),
        Door(name="Loft stair"),
    ]
    assert as_text(quay(doors), 40) == LISTED


@pytest.mark.parametrize(("text", "width"), [("Loft", 4), ("\u6f22\u5b57", 4), ("e\u0301", 1)])
def test_columns_of_a_terminal(text: str, width: int) -> None:
    """Wide signs take two columns, combining ones none."""
    assert columns(text) == width


@given(chart=charts())
@settings(max_examples=100)
def test_no_line_is_too_long_and_nothing_is_lost(chart: AccessChart) -> None:
    """Lines keep to 80 columns, and every door and key is named."""
    text = as_text(chart)
    assert all(columns(line) <= 80 for line in text.splitlines())
    words = text.replace("\n", " ").split()
    for name in [door.name for door in chart.doors] + [key.name for key in chart.keys]:
        assert all(any(part in word for word in words) for part in name.split())


def test_a_chain_of_many_masters_stays_on_the_page() -> None:
    """Indentation ends after ten levels, so that any depth fits the width."""
    keys = [Key(name=f"K{i}", under=f"K{i + 1}" if i < 99 else "") for i in range(100)]
    chart = AccessChart.build([Door(name="d")], keys, {"d": [key.name for key in keys]})
    text = as_text(chart, 40)
    assert all(columns(line) <= 40 for line in text.splitlines())
    assert text.count("1 door\n") == 100
