"""Masters and what is under them: `a master opens every door that a key under it opens`.

Rules
- ``under`` names one master, so keys form trees; a circle is a fault, told once a circle.
- A key opens what it is listed for and what keys under it open, at any depth.
- A reserved or retired key opens nothing, also not as a master; masters above it are not cut off.
- ``except`` takes single masters away from a door, ``NMK`` all that are not listed themselves.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from pinloom.chart.keys import KeyLine
from pinloom.core.chart import Key, KeyStanding
from pinloom.core.findings import Finding, Place, fault
from pinloom.core.names import natural

_MOST_NAMES = 12  # of a circle that are told


def check_masters(lines: Mapping[str, KeyLine], found: list[Finding]) -> dict[str, str]:
    """Key -> its master, without unknown masters and circles, which become faults."""
    under: dict[str, str] = {}
    for name, line in lines.items():
        master = line.key.under
        if not master:
            continue
        if master not in lines:
            place = _under_place(line)
            found.append(fault("chart-under-unknown", place, key=name, master=master))
        else:
            under[name] = master
    for circle in _circles(under):
        first = circle[0]
        found.append(
            fault(
                "chart-under-circle",
                _under_place(lines[first]),
                circle=_told(circle),
            )
        )
        for name in circle:
            del under[name]
    return under


def _told(circle: list[str]) -> str:
    shown = circle[:_MOST_NAMES] + (["..."] if len(circle) > _MOST_NAMES else [])
    return " under ".join([*shown, circle[0]])


def _under_place(line: KeyLine) -> Place:
    return replace(line.place, column="under")


def _circles(under: Mapping[str, str]) -> list[list[str]]:
    """Every circle once, from its naturally first key on."""
    seen: dict[str, int] = {}
    circles: list[list[str]] = []
    for turn, start in enumerate(under):
        path: list[str] = []
        name = start
        while name in under and name not in seen:
            seen[name] = turn
            path.append(name)
            name = under[name]
        if seen.get(name) == turn and name in path:
            circle = path[path.index(name) :]
            least = circle.index(min(circle, key=natural))
            circles.append(circle[least:] + circle[:least])
    return sorted(circles, key=lambda circle: natural(circle[0]))


class Tree:
    """The masters of a chart's keys, asked for many doors. ``under`` must be free of circles."""

    def __init__(self, keys: Iterable[Key], under: Mapping[str, str]) -> None:
        self._under = under
        self._idle = {key.name for key in keys if key.standing is not KeyStanding.ACTIVE}

    def implied(self, lowest: Iterable[str]) -> set[str]:
        """Masters that open a door because they are above one of its lowest keys."""
        names: set[str] = set()
        for name in lowest:
            master = self._under.get(name)
            while master is not None and master not in names:
                names.add(master)
                master = self._under.get(master)
        return names - self._idle
