"""The test sheet: which keys to try in which door.

Rules. Every door is tried with keys that must open it and with those that come nearest among the
keys that must not. A door with few keys is tried with all of them. A door with many is tried with a
set that uses every joint of every chamber: chambers are independent of each other, so a pin that is
wrong shows with one of them.

Theory. The set is chosen greedily, most unused joints first, the chart's order breaking ties. The
nearest refused key is the one that the fewest chambers hold, then by the fewest steps. Retired keys
count among those to refuse, because they still exist.
"""

import numpy as np
from numpy.typing import NDArray

from pinloom.core.chart import KeyStanding
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.stacks import PinStack
from pinloom.sheets.blocks import Cell, Table, Ticks
from pinloom.sheets.heights import State, by_level

ALL = 8  # keys of a door that are all tried
NEAREST = 2

Ints = NDArray[np.int64]


def trial_table(job: Job) -> Table:
    """One row a door."""
    trial = Trial(job)
    rows: list[tuple[Cell, ...]] = []
    for number, door in enumerate(job.chart.doors):
        must = trial.must_open(number)
        shown = ", ".join(job.chart.keys[k].name for k in must)
        openers = len(job.chart.openers[number])
        if len(must) < openers:
            shown += f" (of {openers:,}; every joint is used)"
        refused = ", ".join(job.chart.keys[k].name for k in trial.nearest(number)) or "-"
        rows.append((door.name, shown, Ticks(), refused, Ticks()))
    return Table(
        heads=("door", "must open", "opens", "must not", "refused"),
        rows=tuple(rows),
        widths=("2fr", "3fr", "auto", "2fr", "auto"),
        centred=frozenset(("opens", "refused")),
        name="test sheet",
    )


class Trial:
    """Which keys matter at which door of one job."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._cuts: Ints = np.array(job.bittings, dtype=np.int64).reshape(len(job.bittings), -1)
        self._known: dict[tuple[str, int, PinStack | None], tuple[Ints, Ints]] = {}

    def must_open(self, door: int) -> tuple[int, ...]:
        """Keys to try that shall open a door: all, or a set that uses every joint."""
        openers = self._job.chart.openers[door]
        active = [k for k in openers if self._job.chart.keys[k].standing is KeyStanding.ACTIVE]
        if len(active) <= ALL:
            return tuple(active)
        meets = chamber_positions(self._job.key_format, self._job.format_of(door)) or ()
        cuts = self._cuts[np.array(active)][:, list(meets)]
        unused = {(c, int(level)) for c in range(cuts.shape[1]) for level in set(cuts[:, c])}
        chosen: list[int] = []
        while unused:
            gains = [sum((c, int(v)) in unused for c, v in enumerate(row)) for row in cuts]
            best = int(np.argmax(gains))
            chosen.append(active[best])
            unused -= {(c, int(v)) for c, v in enumerate(cuts[best])}
        return tuple(sorted(chosen))

    def nearest(self, door: int, most: int = NEAREST) -> tuple[int, ...]:
        """Keys that a door must refuse, those nearest to opening it first."""
        held, steps = self.refusals(door)
        chart = self._job.chart
        shut = set(range(len(chart.keys))) - set(chart.openers[door])
        barred = [k for k in shut if chart.enters(chart.keys[k], chart.doors[door])]
        return tuple(sorted(barred, key=lambda k: (held[k], steps[k], k))[:most])

    def refusals(self, door: int) -> tuple[Ints, Ints]:
        """Per key, how many chambers of a door hold it, and the best of them by how many steps."""
        made = self._job.format_of(door)
        meets = chamber_positions(self._job.key_format, made) or ()
        held = np.zeros(len(self._cuts), dtype=np.int64)
        steps = np.zeros(len(self._cuts), dtype=np.int64)
        stacks = self._job.pinning[door].chambers
        for chamber, position in enumerate(meets):
            stops, off = self._tables(made, chamber, stacks[chamber])
            column = self._cuts[:, position]
            held += stops[column]
            steps = np.maximum(steps, off[column])
        return held, steps

    def _tables(
        self, made: HardwareFormat, chamber: int, stack: PinStack | None
    ) -> tuple[Ints, Ints]:
        case = (made.name, chamber, stack)
        if case not in self._known:
            told = by_level(made, chamber, stack)
            self._known[case] = (
                np.array([one.state is State.HELD for one in told], dtype=np.int64),
                np.array([one.steps for one in told], dtype=np.int64),
            )
        return self._known[case]
