"""Where a core group's control key may lie, and how far a candidate keeps from everything else.

Theory of operation. In a small-format core the control line lies ``offset`` steps above the
operating one, so a stack meets it at level ``control`` through its build-up pin, and through its
plug total at level ``deepest - offset``, which is below 0 but may be near 0. A key with cut k is
therefore min(|k - control|, k + offset - deepest) steps from the control line, and likewise the
build-up joint lies ``control + offset`` from the operating line, near the deepest cuts only.

Positions are the key's. Per cylinder and position there are three cases: no pins (passes
everything), an operating line alone, or a control chamber.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat, Reading
from pinloom.core.job import ControlKey
from pinloom.pinning.cutsets import CutSets

Steps = NDArray[np.int16]
FAR = 99  # steps; a distance no two cuts have


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """One kind of cylinder by key position: ``cuts`` = levels that operate it, None = no pins."""

    door: str
    group: str
    made: HardwareFormat
    cuts: tuple[tuple[int, ...] | None, ...]
    control: tuple[bool, ...]  # whether the control line crosses it there

    def is_core(self) -> bool:
        """Whether it is an interchangeable core."""
        return self.made.core is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rivals:
    """Keys that must keep away from the control line of the cores it crosses at ``positions``.
    ``deepest`` = deepest operating cut of those cores, per position.
    """

    positions: NDArray[np.intp]
    deepest: Steps
    keys: Steps


class ControlSpace:
    """The allowed levels of one group's control key, and the distances that matter to it.

    ``beside_master[p]`` = levels nearer to a top master than the least step, where the control
    acts.
    """

    def __init__(
        self,
        group: str | None,
        key_format: HardwareFormat,
        cylinders: Sequence[Cylinder],
        keys: Sequence[Bitting],
        masters: Sequence[Bitting],
        others: Sequence[ControlKey],
    ) -> None:
        self.group = group
        self.macs = key_format.macs
        self.least_step = key_format.least_step
        self.levels = key_format.levels
        self.reading: Reading = key_format.reading
        self._positions = key_format.chambers
        own = [c for c in cylinders if c.is_core() and group in (None, c.group)]
        self._cylinders = cylinders
        self._masters = masters
        self._own = own
        self._offset = min((c.made.core.offset for c in own if c.made.core), default=FAR)
        self._others = others
        self._keys = keys
        self._acting = [any(c.control[p] for c in own) for p in range(self._positions)]
        self.beside_master = tuple(self._beside(p, masters) for p in range(self._positions))

    # A check of a given key asks for little of what follows, and never waits for the rest.

    @cached_property
    def allowed(self) -> tuple[tuple[int, ...], ...]:
        """Per position, the levels that a control cut can have there by itself."""
        return tuple(tuple(self._allowed(p, self._masters)) for p in range(self._positions))

    @cached_property
    def blocked_door(self) -> str:
        """A door in which no cut at all passes where the control does not act; '' = none."""
        return self._blocked()

    @cached_property
    def _operating(self) -> Steps:
        return _operating_tables(self._cylinders, self._others, self._positions, self.levels)

    @cached_property
    def _rivals(self) -> tuple[Rivals, ...]:
        return tuple(self._rival_keys())

    def is_operating_key(self, levels: Bitting) -> bool:
        """Whether some key of the job has exactly these cuts."""
        return levels in self._keys

    def margin(self, levels: Bitting) -> int:
        """The least, over all keys and cylinders that must keep apart from these cuts, of the
        largest distance in any position, in steps.
        """
        at = np.array(levels, dtype=np.int16)
        over_cylinders = self._operating[:, np.arange(self._positions), at].max(axis=1)
        margin = int(over_cylinders.min(initial=FAR))
        for rivals in self._rivals:
            keys = rivals.keys[:, rivals.positions]
            apart = np.abs(keys - at[rivals.positions])
            edge = keys + self._offset - rivals.deepest
            margin = min(margin, int(np.minimum(apart, edge).max(axis=1).min(initial=FAR)))
        return margin

    def _beside(self, position: int, masters: Sequence[Bitting]) -> frozenset[int]:
        if not self._acting[position]:
            return frozenset()
        return frozenset(
            level
            for level in range(self.levels)
            if any(abs(level - master[position]) < self.least_step for master in masters)
        )

    def _allowed(self, position: int, masters: Sequence[Bitting]) -> Iterator[int]:
        """Levels that a control cut can have here at all."""
        if not self._acting[position]:
            yield from self._passing(position, masters)
            return
        deepest = max((key[position] for key in self._keys), default=-FAR)
        cases = {self._case(cylinder, position): cylinder for cylinder in self._own}
        for level in range(self.levels):
            if level in self.beside_master[position]:
                continue
            clear = level + self._offset - deepest >= self.least_step
            if clear and all(self._builds(c, position, level) for c in cases.values()):
                yield level

    def _passing(self, position: int, masters: Sequence[Bitting]) -> Iterator[int]:
        """Levels that operate every core of the group here; the top masters' first."""
        common = set(range(self.levels))
        for cylinder in self._own:
            cuts = cylinder.cuts[position]
            if cuts is not None:
                common &= set(cuts)
        preferred = common & {master[position] for master in masters}
        yield from sorted(preferred or common)

    @staticmethod
    def _case(cylinder: Cylinder, position: int) -> tuple[object, ...]:
        """Cylinders of one case take the same build-up pins at a position."""
        cuts = cylinder.cuts[position]
        return id(cylinder.made), cylinder.control[position], cuts and cuts[-1]

    @staticmethod
    def _builds(cylinder: Cylinder, position: int, level: int) -> bool:
        cuts, core = cylinder.cuts[position], cylinder.made.core
        if core is None or cuts is None or not cylinder.control[position]:
            return True
        return level + core.offset - max(cuts) in core.buildup_sizes

    def _blocked(self) -> str:
        """A door in which no cut at all passes where the control does not act; '' = none."""
        for position in range(self._positions):
            if self._acting[position] or self.allowed[position]:
                continue
            common: set[int] = set(range(self.levels))
            for cylinder in self._own:
                cuts = cylinder.cuts[position]
                if cuts is not None and not (common := common & set(cuts)):
                    return cylinder.door
        return ""

    def _rival_keys(self) -> Iterator[Rivals]:
        """Keys that could turn the group's control sleeve, and so must keep apart in a control
        chamber: those that pass the other chambers of some core of the group, or come near. Cores
        whose control line crosses the same positions are taken together.
        """
        keys = [*self._keys, *(other.levels for other in self._others)]
        table = np.array(keys, dtype=np.int16).reshape(len(keys), self._positions)
        by_line: dict[tuple[bool, ...], list[Cylinder]] = {}
        for cylinder in self._own:
            by_line.setdefault(cylinder.control, []).append(cylinder)
        for line, cylinders in by_line.items():
            positions = [p for p, crossed in enumerate(line) if crossed]
            passing = np.zeros(len(keys), dtype=np.bool_)
            elsewhere = [p for p in range(self._positions) if not line[p]]
            for cuts in dict.fromkeys(tuple(c.cuts[p] for p in elsewhere) for c in cylinders):
                passing |= self._passes(table, elsewhere, cuts)
            deepest = [max((c.cuts[p] or (-FAR,))[-1] for c in cylinders) for p in positions]
            yield Rivals(
                positions=np.array(positions, dtype=np.intp),
                deepest=np.array(deepest, dtype=np.int16),
                keys=table[passing],
            )

    def _passes(
        self, table: Steps, positions: Sequence[int], lines: Sequence[tuple[int, ...] | None]
    ) -> NDArray[np.bool_]:
        near = np.ones(len(table), dtype=np.bool_)
        for position, cuts in zip(positions, lines, strict=True):
            if cuts is not None:
                apart = np.abs(table[:, position, None] - np.array(cuts)).min(axis=1)
                near &= apart < self.least_step
        return near


def control_space(
    chart: AccessChart,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    group: str | None,
    others: Sequence[ControlKey],
) -> ControlSpace:
    """The space of one group's control key; None = one key for all cores of the job."""
    cylinders = tuple(_cylinders(chart, key_format, formats, bittings))
    masters = _top_masters(chart, formats, bittings, group)
    return ControlSpace(group, key_format, cylinders, tuple(bittings), masters, others)


def _cylinders(
    chart: AccessChart,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
) -> Iterator[Cylinder]:
    """One of each kind; doors that differ in name alone are one."""
    active = [key.standing is KeyStanding.ACTIVE for key in chart.keys]
    every = all(active)
    sets = CutSets(bittings)
    lines: dict[tuple[int, tuple[int, ...]], _Line | None] = {}
    seen: set[tuple[object, ...]] = set()
    for door, marks, made in zip(chart.doors, chart.openers, formats, strict=True):
        if (id(made), door.unpinned) not in lines:
            lines[id(made), door.unpinned] = _line(key_format, made, door.unpinned)
        line = lines[id(made), door.unpinned]
        keys = marks if every else [k for k in marks if active[k]]
        case = (marks, made.name, door.unpinned, door.core_group)
        if line is None or not keys or case in seen:
            continue
        seen.add(case)
        bits = sets.at(sets.of(keys), range(key_format.chambers))
        yield Cylinder(
            door=door.name,
            group=door.core_group,
            made=made,
            cuts=tuple(
                sets.levels(cuts) if pinned else None
                for cuts, pinned in zip(bits, line.pinned, strict=True)
            ),
            control=line.control,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """By key position, whether a kind of cylinder has pins, and the control line in them."""

    pinned: tuple[bool, ...]
    control: tuple[bool, ...]


def _line(
    key_format: HardwareFormat, made: HardwareFormat, unpinned: Sequence[int]
) -> _Line | None:
    places = chamber_positions(key_format, made)
    if places is None:
        return None
    chamber_at = {
        place: chamber for chamber, place in enumerate(places) if chamber + 1 not in unpinned
    }
    acting = made.core.control_chambers if made.core else ()
    positions = range(key_format.chambers)
    return _Line(
        pinned=tuple(p in chamber_at for p in positions),
        control=tuple(chamber_at.get(p) in acting for p in positions),
    )


def _top_masters(
    chart: AccessChart,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    group: str | None,
) -> tuple[Bitting, ...]:
    """Cuts of the keys that open the most cores of the group; none where no key opens two."""
    opened = [0] * len(chart.keys)
    for door, marks, made in zip(chart.doors, chart.openers, formats, strict=True):
        if made.core is not None and group in (None, door.core_group):
            for key in marks:
                opened[key] += chart.keys[key].standing is KeyStanding.ACTIVE
    most = max(opened, default=0)
    if most < 2:
        return ()
    return tuple(bittings[key] for key, doors in enumerate(opened) if doors == most)


def _operating_tables(
    cylinders: Sequence[Cylinder], others: Sequence[ControlKey], positions: int, levels: int
) -> Steps:
    """Per cylinder, position and level: steps from the operating line; 0 where there are no pins.

    The build-up joints of other groups' cores, whose control cuts are known, count as lines.
    """
    at = np.arange(levels)
    rows: list[Steps] = [np.zeros(levels, dtype=np.int16)]
    known: dict[tuple[object, ...], int] = {}
    index = np.zeros((len(cylinders), positions), dtype=np.intp)
    for number, cylinder in enumerate(cylinders):
        for position, cuts in enumerate(cylinder.cuts):
            if cuts is None:
                continue
            joints = others if cylinder.control[position] and cylinder.made.core else ()
            case = (cuts, position, id(cylinder.made), cylinder.group) if joints else (cuts,)
            row = known.get(case)
            if row is None:
                lines = list(cuts)
                if cylinder.made.core:
                    lines += [
                        other.levels[position] + cylinder.made.core.offset
                        for other in joints
                        if other.group == cylinder.group
                    ]
                row = known[case] = len(rows)
                rows.append(np.abs(at[:, None] - np.array(lines)).min(axis=1).astype(np.int16))
            index[number, position] = row
    return np.array(rows, dtype=np.int16)[index]
