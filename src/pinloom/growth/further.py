"""Which combinations of a group are free: exact, a whole group at once, nothing else touched.

A further key gets a door of its own that it shares with the masters above it. With M = the cuts of
those masters, a combination c is free exactly when

1. no existing cylinder admits c (its box, widened by ``least_step - 1``), and c does not turn the
   control line of an existing core; nor does a cylinder of another system that is to be avoided;
2. no other key falls in the new door, whose splits are M + c, position by position; control keys
   are other keys. In a core, no operating key reaches its control line;
3. in each position M + c needs only master pins that are made, and no more than allowed;
4. c keeps MACS and the required key rules. (A key that c equals falls under 2, a master under 1.)

It is the frozen question (``frozen``) for a few combinations under many masters instead of every
bitting under one; a test holds the two against each other. Boxes and keys are bit sets by position
and level (``bitsets``), made once a job. Keyways are not asked: a further key is taken to enter
every cylinder.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import prod

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import Job
from pinloom.core.keyrules import KeyRules
from pinloom.growth.bitsets import Table, Words, any_at, any_of, cylinder_boxes, sets_of
from pinloom.growth.frozen import grows
from pinloom.growth.space import everything, keeps_required, reach_of

MOST_AT_ONCE = 4_096  # combinations looked at together
MOST_LOTS = 20  # such lots looked at before a group counts as full
ENOUGH = 4  # times as many as asked for: a large group is not counted to its end

Levels = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """Free combinations of a group. ``unused`` = the next ones in order of use; they fit together
    with each other and with all that were given before. ``further`` = per chamber, levels beside
    those in use that some free combination has. ``left`` = how many are free, each by itself; of
    very large groups as many as were counted.
    """

    further: Levels
    unused: tuple[Bitting, ...]
    left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Core:
    """Positions of the new door's control line and its cuts; none without a core or a key."""

    lines: tuple[int, ...]
    cuts: Bitting


class Extension:
    """A job as bit sets, to be asked group by group. ``avoid`` = bittings of other systems that no
    key may equal, ``avoid_stacks`` = by position what splits their cylinders, which none may open.
    """

    def __init__(
        self,
        job: Job,
        rules: KeyRules | None = None,
        *,
        avoid: Sequence[Bitting] = (),
        avoid_stacks: Sequence[Levels] = (),
    ) -> None:
        self._made, self._rules = job.key_format, rules or KeyRules()
        made = self._made
        self._reach = np.array([reach_of((v,), made) for v in range(made.levels)], dtype=np.int64)
        controls = [control.levels for control in job.controls]
        self._keys = np.array([*job.bittings, *controls], dtype=np.int64).reshape(-1, made.chambers)
        boxes = [*cylinder_boxes(job), *_foreign(avoid, avoid_stacks, made)]
        self._boxes = sets_of(np.array(boxes, dtype=np.int64).reshape(-1, made.chambers), made)
        self._near = sets_of(self._reach[self._keys], made)
        self._operating = np.arange(len(self._keys)) < len(job.bittings)
        self._controls = {control.group: control.levels for control in job.controls}
        self._core = _control_line(self._made, self._controls, "")
        # Combinations given so far, and what their doors admit as level bits.
        self._given: tuple[list[Bitting], list[Bitting]] = ([], [])

    def free(
        self,
        masters: Sequence[int],
        used: Levels,
        most: int,
        *,
        core_group: str = "",
        after: Callable[[int], Sequence[Bitting]] | None = None,
    ) -> Free:
        """The next ``most`` combinations for a group whose keys use these levels, under these
        masters (indices of keys). Levels in use come first, then those beside them; when too few
        are left, one after another of the chambers in which all keys and masters have one cut,
        and at last ``after``: tells as many free combinations as it is asked for, if it knows them.
        ``core_group`` = that of the new doors, if they are cores.
        """
        self._core = _control_line(self._made, self._controls, core_group)
        above = self._above(masters)
        choices = [self._choices(p, levels, above) for p, levels in enumerate(used)]
        tables = [_in_order(self._first_free(choices, masters, above, most), used)]
        given = [*self._give(tables[0], above, most)]
        for p, levels in enumerate(used):
            if len(given) == most:
                break
            if len(levels) == 1 and all(cut[p] in levels for cut in above):
                opened = self._pinnable(self._beside(levels), p, above)
                more = [opened if p == q else here for q, here in enumerate(choices)]
                tables.append(_in_order(self._first_free(more, masters, above, most), used))
                given += self._give(tables[-1], above, most - len(given))
        if after is not None and len(given) < most:
            rows = after(most * ENOUGH)
            tables.append(np.array(rows, dtype=np.int64).reshape(-1, self._made.chambers))
            given += self._give(tables[-1], above, most - len(given))
        table = np.unique(np.concatenate(tables), axis=0)
        beside = [sorted({*table[:, p].tolist()} - set(levels)) for p, levels in enumerate(used)]
        return Free(
            further=tuple(tuple(levels) for levels in beside),
            unused=tuple(given),
            left=len(table),
        )

    def fitting(self, cells: Table, masters: Sequence[int], *, core_group: str = "") -> Table:
        """The free ones among these combinations, shape (combinations, chambers), each by itself;
        for doors as ``free`` has them.
        """
        self._core = _control_line(self._made, self._controls, core_group)
        above = self._above(masters)
        every = [range(self._made.levels)] * self._made.chambers
        for p, levels in enumerate(every):
            cells = cells[np.isin(cells[:, p], self._pinnable(levels, p, above))]
        return self._free_among(cells, every, masters, above, partial(any_at, cells))

    def hold(self, cuts: Iterable[Bitting], masters: Sequence[int]) -> None:
        """Count combinations as given: those that a job keeps for further keys under masters."""
        above = self._above(masters)
        for cut in cuts:
            self._given[0].append(cut)
            self._given[1].append(self._widened([*above, cut]))

    # --- what is free ----------------------------------------------------------------------------

    def _above(self, masters: Sequence[int]) -> list[Bitting]:
        return [tuple(int(v) for v in self._keys[k]) for k in masters]

    def _choices(self, p: int, levels: tuple[int, ...], above: Sequence[Bitting]) -> list[int]:
        """Levels of a chamber: the one that all keys carry, or those in use and all beside them."""
        beside = () if len(levels) == 1 else self._beside(levels)
        return self._pinnable((*levels, *beside), p, above)

    def _beside(self, levels: Sequence[int]) -> list[int]:
        """Levels whole least steps beside one in use: a progression so keeps its parity."""
        return sorted({v for level in levels for v in self._made.beside(level)} - set(levels))

    def _pinnable(self, levels: Sequence[int], p: int, above: Sequence[Bitting]) -> list[int]:
        """Levels that can be pinned with the masters' cuts."""
        cuts = tuple({cut[p] for cut in above})
        return [v for v in levels if grows(cuts, v, self._made)]

    def _first_free(
        self,
        choices: Sequence[list[int]],
        masters: Sequence[int],
        above: Sequence[Bitting],
        most: int,
    ) -> Table:
        """Free combinations, lot after lot until there are enough."""
        rows: list[Table] = [np.zeros((0, self._made.chambers), dtype=np.int64)]
        for number, lot in enumerate(_lots(choices)):
            rows.append(self._free_in(lot, masters, above))
            if number == MOST_LOTS or sum(map(len, rows)) >= most * ENOUGH > 0:
                break
        return np.concatenate(rows)

    def _free_in(
        self, choices: Sequence[Sequence[int]], masters: Sequence[int], above: Sequence[Bitting]
    ) -> Table:
        """The free ones of all combinations of these levels; shape (found, chambers)."""
        return self._free_among(_product(choices), choices, masters, above, any_of)

    def _free_among(
        self,
        cells: Table,
        choices: Sequence[Sequence[int]],
        masters: Sequence[int],
        above: Sequence[Bitting],
        met: Callable[..., NDArray[np.bool_]],
    ) -> Table:
        """The free ones of combinations of these levels, all of which can be pinned. ``met`` tells
        by combination whether a bit is set in the rows that it has of one table a chamber.
        """
        made = self._made
        # Rule 4, then the boxes of rule 1.
        good = np.all(np.abs(np.diff(cells, axis=1)) <= made.macs, axis=1)
        good &= ~met([self._boxes[p][list(levels)] for p, levels in enumerate(choices)])
        # Rule 2.
        others = np.ones(len(self._keys), dtype=np.bool_)
        others[list(masters)] = False
        good &= ~met(self._door(choices, above), others)
        if self._core.lines:
            good &= ~self._on_control(cells)
            near = self._on_control(self._keys) & self._operating
            good &= ~met(self._door(choices, above, self._core.lines), near)
        return self._with_rules(cells[good])

    def _with_rules(self, cells: Table) -> Table:
        """Those that keep the required rules, asked one by one only where a shop requires more."""
        made = self._made
        if self._rules == KeyRules():
            return cells[np.any(cells != cells[:, :1], axis=1)] if made.chambers > 1 else cells
        kept = [keeps_required(row, made, self._rules) for row in cells.tolist()]
        return cells[np.array(kept, dtype=np.bool_)]

    def _door(
        self,
        choices: Sequence[Sequence[int]],
        above: Sequence[Bitting],
        passing: Sequence[int] = (),
    ) -> list[Words]:
        """Per position and level, the keys that pass the new door there; all in ``passing``."""
        found = []
        for p, levels in enumerate(choices):
            near = self._near[p]
            cuts = sorted({cut[p] for cut in above})
            base = np.bitwise_or.reduce(near[cuts], axis=0)
            found.append(near[list(levels)] | (~np.uint64(0) if p in passing else base))
        return found

    def _on_control(self, rows: Table) -> NDArray[np.bool_]:
        """Which cuts are near the control cuts wherever the new door has a control line."""
        near = np.ones(len(rows), dtype=np.bool_)
        for p in self._core.lines:
            near &= (self._reach[rows[:, p]] >> self._core.cuts[p] & 1).astype(np.bool_)
        return near

    # --- what is given ---------------------------------------------------------------------------

    def _give(self, table: Table, above: Sequence[Bitting], most: int) -> Iterator[Bitting]:
        """The first ones that fit with each other and with all given before."""
        count = 0
        for row in table.tolist():
            if count == most:
                return
            cut = tuple(row)
            door = self._widened([*above, cut])
            cuts, doors = (np.array(part, dtype=np.int64) for part in self._given)
            if len(cuts) and (_within(cuts, np.array(door)) | _within(np.array(cut), doors)).any():
                continue
            self._given[0].append(cut)
            self._given[1].append(door)
            count += 1
            yield cut

    def _widened(self, cuts: Sequence[Bitting]) -> tuple[int, ...]:
        columns = zip(*cuts, strict=True)
        return tuple(reach_of(sorted(set(column)), self._made) for column in columns)


def _within(cuts: Table, doors: Table) -> NDArray[np.bool_]:
    """Which cuts lie in which doors (level bits), row by row."""
    within: NDArray[np.bool_] = np.all(doors >> cuts & 1, axis=-1)
    return within


def _foreign(
    avoid: Sequence[Bitting], stacks: Sequence[Levels], made: HardwareFormat
) -> Iterator[list[int]]:
    """Boxes of other systems: a bitting is only itself, a position without pins passes all."""
    yield from ([1 << level for level in cut] for cut in avoid)
    every = everything(made)
    for stack in stacks:
        yield [reach_of(sorted(levels), made) if levels else every for levels in stack]


def _control_line(made: HardwareFormat, controls: Mapping[str, Bitting], group: str) -> _Core:
    # A single control key without a group serves every core.
    only = controls.get("") if len(controls) == 1 else None
    cuts = controls.get(group, only)
    if made.core is None or cuts is None:
        return _Core(lines=(), cuts=())
    large = made.core.kind is CoreKind.LARGE
    lines = made.core.control_chambers if large else tuple(range(made.chambers))
    return _Core(lines=lines, cuts=cuts)


def _product(choices: Sequence[Sequence[int]]) -> Table:
    """All combinations, the last chamber fastest; shape (combinations, chambers)."""
    grid = np.indices([len(levels) for levels in choices]).reshape(len(choices), -1)
    columns = [
        np.array(levels, dtype=np.int64)[index] for levels, index in zip(choices, grid, strict=True)
    ]
    return np.stack(columns, axis=1)


def _lots(choices: Sequence[list[int]]) -> Iterator[list[list[int]]]:
    """The combinations in lots of at most ``MOST_AT_ONCE``: leading chambers one level each."""
    if not all(choices):
        return
    lead = 0
    while prod(len(levels) for levels in choices[lead:]) > MOST_AT_ONCE:
        lead += 1
    heads = _product(choices[:lead]).tolist() if lead else [[]]
    for head in heads:
        yield [*([level] for level in head), *choices[lead:]]


def _in_order(table: Table, used: Levels) -> Table:
    """Combinations of levels in use first, then by depth in reading order."""
    beside = np.zeros(len(table), dtype=np.int64)
    for p, levels in enumerate(used):
        beside += ~np.isin(table[:, p], levels)
    columns = [table[:, p] for p in reversed(range(len(used)))]
    return table[np.lexsort([*columns, beside])]
