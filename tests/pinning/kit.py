"""Small charts and formats for the tests of pinning."""

from collections.abc import Mapping

from pinloom import hardware
from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import HardwareFormat


def shipped(name: str) -> HardwareFormat:
    """One shipped format."""
    made = hardware.load_format(name).format
    assert made is not None
    return made


def own(text: str) -> HardwareFormat:
    """A format made for a test."""
    read = hardware.read_format(text)
    assert read.format is not None, read.findings
    return read.format


def cuts(made: HardwareFormat, text: str) -> Bitting:
    """The levels of a key as stamped."""
    found = made.read_cuts(text)
    assert found is not None
    levels = tuple(level for level in found if level is not None)
    assert len(levels) == len(found)
    return levels


def chart_of(rows: Mapping[str, str], *doors: Door) -> AccessChart:
    """A chart from door -> key names separated by blanks; ``doors`` replace plain ones."""
    special = {door.name: door for door in doors}
    keys = sorted({key for row in rows.values() for key in row.split()})
    return AccessChart.build(
        [special.get(name, Door(name=name)) for name in rows],
        [Key(name=key) for key in keys],
        {door: row.split() for door, row in rows.items()},
    )


def bittings_of(
    chart: AccessChart, made: HardwareFormat, stamped: Mapping[str, str]
) -> tuple[Bitting, ...]:
    """Levels in the order of the chart's keys."""
    return tuple(cuts(made, stamped[key.name]) for key in chart.keys)


# *Keynotes* (Associated Locksmiths of America), February 2022, printed p. 36.
K1_ROWS = {
    "101": "maintenance sales quality cleaning",
    "102": "sales",
    "103": "maintenance cleaning",
    "104A": "sales cleaning",
    "104B": "sales cleaning",
    "105": "quality",
    "106": "sales quality cleaning",
    "107": "maintenance",
}
K1_KEYS = {"maintenance": "345621", "sales": "365621", "quality": "343621", "cleaning": "345421"}
