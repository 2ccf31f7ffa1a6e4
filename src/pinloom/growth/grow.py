"""Grow, shrink or mend a system: the keys that are cut stay cut.

By preference: no key is re-cut if it can be helped, then as few of the allowed ones as possible;
only the cylinders whose keys change are pinned anew, and of the others as few as possible.

How. The number of re-cut keys rises from none. For each choice of keys to re-cut:

* keys with cuts that already clash (one of them in a door that it must not open, whatever is
  pinned) rule the choice out at once: that is a proof, since their cuts are given;
* one key to place is answered exactly over the whole key space (``frozen``);
* several are placed one after another, the one with most doors first, each where it adds the fewest
  master pins; if that fails, the design engine is asked with all other cuts fixed.

"Least" is claimed only when every smaller choice was excluded by proof; a choice that was merely
not found leaves a gap, and the claim says so.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting, PartialBitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Claim, ClaimKind, Job
from pinloom.core.request import Designed, DesignOutcome, DesignRequest, ProvedImpossible
from pinloom.growth.frozen import MOST_KEYS
from pinloom.growth.placing import place
from pinloom.growth.system import (
    Splits,
    System,
    can_be_pinned,
    least_splits,
    serves,
    strangers,
)
from pinloom.growth.wanted import Wanted, lay_over, system_of

Designer = Callable[[DesignRequest], DesignOutcome]
Progress = Callable[[str], None]
Indices = NDArray[np.int64]
MOST_CHOICES = 400  # sets of keys to re-cut that are tried before the answer is "best found"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grown:
    """A system that does what the wanted chart says. ``bittings[k]`` belongs to ``chart.keys[k]``.

    ``repin`` names the doors to pin for exactly their keys; all others keep their pins as they are.
    """

    chart: AccessChart
    bittings: tuple[Bitting, ...]
    repin: tuple[str, ...]
    recut: tuple[str, ...]
    added: tuple[str, ...]
    claims: tuple[Claim, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotGrown:
    """No such system was found. ``proved`` = none exists with the keys that may be re-cut.

    ``clashes`` = (key, door) pairs that the cuts in the field get wrong however they are pinned;
    ``helpful`` = keys of which re-cutting one would mend a clash.
    """

    proved: bool
    clashes: tuple[tuple[str, str], ...]
    helpful: tuple[str, ...]
    tried: int


def grow(
    job: Job,
    chart: AccessChart,
    formats: Sequence[HardwareFormat],
    *,
    may_recut: frozenset[str] = frozenset(),
    given: Sequence[PartialBitting | None] = (),
    avoid: Sequence[Bitting] = (),
    designer: Designer | None = None,
    progress: Progress | None = None,
) -> Grown | NotGrown:
    """The wanted chart on an existing job. ``formats`` by door of ``chart``; ``given`` = cuts of
    new keys that the chart fixes; ``avoid`` = cuts that no new or re-cut key may get;
    ``designer`` is asked where one-by-one placing fails.
    """
    wanted = lay_over(job, chart, formats, given, avoid)
    allowed = tuple(sorted(name for name in may_recut if name in wanted.cuts))
    base = system_of(job, wanted, formats, frozenset())
    clashes = clashes_of(base)
    tried, certain, found = 0, True, None
    for size in range(len(allowed) + 1):
        level_certain = True
        for choice in _choices(allowed, size, clashes, base):
            tried += 1
            if tried > MOST_CHOICES:
                level_certain = False
                break
            if progress is not None:
                progress(f"growing: {size} keys re-cut, choice {tried}")
            answer = attempt(job, wanted, formats, choice, designer)
            if isinstance(answer, System):
                found = _better(found, answer, wanted, choice)
            elif not answer:
                level_certain = False
        if found is not None:
            return _grown(found[0], wanted, found[1], certain)
        certain = certain and level_certain
        if tried > MOST_CHOICES:
            break
    names = wanted.chart
    return NotGrown(
        proved=certain,
        clashes=tuple((names.keys[k].name, names.doors[d].name) for k, d in clashes),
        helpful=_helpful(base, clashes),
        tried=tried,
    )


def _choices(
    allowed: tuple[str, ...], size: int, clashes: list[tuple[int, int]], base: System
) -> Iterator[frozenset[str]]:
    """Sets of keys to re-cut that touch every clash; others cannot mend it."""
    chart = base.chart
    for choice in combinations(allowed, size):
        chosen = frozenset(choice)
        if all(
            chart.keys[k].name in chosen
            or any(chart.keys[o].name in chosen for o in chart.openers[d])
            for k, d in clashes
        ):
            yield chosen


def attempt(
    job: Job,
    wanted: Wanted,
    formats: Sequence[HardwareFormat],
    free: frozenset[str],
    designer: Designer | None,
) -> System | bool:
    """A complete system; or True = proved that none exists; or False = none found."""
    system = system_of(job, wanted, formats, free)
    if clashes_of(system):
        return True
    open_keys = [k for k, cut in enumerate(system.cuts) if cut is None]
    if not open_keys:
        return _loosened(system) or True
    columns = system.chart.doors_of()
    order = sorted(open_keys, key=lambda k: (-len(columns[k]), k))
    if system.made.levels**system.made.chambers <= MOST_KEYS:
        for start in (system, _tightened(system)):
            placed = place(start, order, wanted.given)
            if placed is not None:
                return placed
        if len(order) == 1:
            return True
    return _designed(system, wanted, designer)


def _tightened(system: System) -> System:
    """Every door pinned for exactly its known keys: no split is left from earlier days."""
    splits: list[Splits | None] = []
    for d, row in enumerate(system.chart.openers):
        known = [c for k in row if (c := system.cuts[k]) is not None]
        splits.append(least_splits(system, d, known) if known else system.splits[d])
    return replace(system, splits=tuple(splits))


def _loosened(system: System) -> System | None:
    """The system with stale splits removed where a key passes by them; None where that fails."""
    tight = _tightened(system)
    return None if clashes_of(tight) else tight


def _designed(system: System, wanted: Wanted, designer: Designer | None) -> System | bool:
    if designer is None:
        return False
    fixed: list[PartialBitting | None] = [
        cut if cut is not None else wanted.given.get(key.name)
        for key, cut in zip(system.chart.keys, system.cuts, strict=True)
    ]
    outcome = designer(
        DesignRequest(
            chart=system.chart,
            key_format=system.made,
            cylinder_formats=system.formats,
            fixed=tuple(fixed),
            control=tuple((c.group, c.levels) for c in system.controls),
            avoid=tuple(sorted(set(system.avoid) - set(system.cuts))),
        )
    )
    if isinstance(outcome, ProvedImpossible):
        return True
    if not isinstance(outcome, Designed):
        return False
    return _tightened(replace(system, cuts=tuple(outcome.bittings)))


def clashes_of(system: System) -> list[tuple[int, int]]:
    """(key, door) pairs among the known cuts that are wrong however the door is pinned."""
    found: list[tuple[int, int]] = []
    index, rows = system.known()
    for d, openers in enumerate(system.chart.openers):
        known = [k for k in openers if system.cuts[k] is not None]
        if not known:
            continue
        least = least_splits(system, d, _cuts(system, known))
        if not can_be_pinned(least, system.formats[d]):
            found.append((known[0], d))
        found += [(k, d) for k in strangers(system, d, least, index, rows)]
    return found


def _cuts(system: System, keys: Sequence[int]) -> list[Bitting]:
    return [cut for k in keys if (cut := system.cuts[k]) is not None]


def needs_pins(system: System, wanted: Wanted, kept: frozenset[int] | None = None) -> list[int]:
    """Doors whose pins in the field do not serve: some key of the door does not turn them, or some
    other key does. Only the keys in ``kept`` are looked at (all by default).
    """
    index, rows = system.known()
    if kept is not None:
        chosen = np.array([int(k) in kept for k in index], dtype=np.bool_)
        index, rows = index[chosen], rows[chosen]
    doors: list[int] = []
    for d, door in enumerate(system.chart.doors):
        old = wanted.old.get(door.name)
        if old is None or not serves(system, d, old, index, rows):
            doors.append(d)
    return doors


def _better(
    found: tuple[System, frozenset[str], int] | None,
    answer: System,
    wanted: Wanted,
    choice: frozenset[str],
) -> tuple[System, frozenset[str], int]:
    count = sum(answer.chart.doors[d].count for d in needs_pins(answer, wanted))
    if found is not None and found[2] <= count:
        return found
    return answer, choice, count


def _grown(system: System, wanted: Wanted, recut: frozenset[str], certain: bool) -> Grown:
    doors = needs_pins(system, wanted)
    count = sum(system.chart.doors[d].count for d in doors)
    bound = _pins_bound(system, wanted, recut)
    new = [k.name for k in system.chart.keys if k.name not in wanted.cuts]
    if _one_key_alone(system, wanted, recut, doors):
        bound = count
    return Grown(
        chart=system.chart,
        bittings=tuple(cut for cut in system.cuts if cut is not None),
        repin=tuple(system.chart.doors[d].name for d in doors),
        recut=tuple(sorted(recut)),
        added=tuple(new),
        claims=(
            Claim(
                measure="keys re-cut",
                value=len(recut),
                kind=ClaimKind.PROVED_LEAST if certain or not recut else ClaimKind.BEST_FOUND,
            ),
            Claim(
                measure="cylinders re-pinned",
                value=count,
                kind=ClaimKind.PROVED_LEAST if count == bound else ClaimKind.BOUNDED,
                bound=bound,
            ),
        ),
    )


def _one_key_alone(
    system: System, wanted: Wanted, recut: frozenset[str], doors: Sequence[int]
) -> bool:
    """Whether one key was placed and only its own doors and faulty ones are pinned anew. Its place
    was then the best of all bittings, for each choice of key, so that the count is the least.
    """
    chart = system.chart
    placed = [
        k for k, key in enumerate(chart.keys) if key.name in recut or key.name not in wanted.cuts
    ]
    if len(placed) != 1:
        return False
    kept = frozenset(range(len(chart.keys))) - {placed[0]}
    own = {d for d, row in enumerate(chart.openers) if placed[0] in row}
    return set(doors) <= own | set(needs_pins(system, wanted, kept))


def _pins_bound(system: System, wanted: Wanted, recut: frozenset[str]) -> int:
    """Cylinders that no answer with these re-cuts can leave: new doors, and doors whose pins in
    the field are wrong for the keys that keep their cuts.
    """
    kept = frozenset(
        k
        for k, key in enumerate(system.chart.keys)
        if key.name in wanted.cuts and key.name not in recut
    )
    return sum(system.chart.doors[d].count for d in needs_pins(system, wanted, kept))


def _helpful(system: System, clashes: list[tuple[int, int]]) -> tuple[str, ...]:
    """Keys of which re-cutting one takes part in a clash; retired ones cannot be re-cut."""
    chart = system.chart
    keys = {k for k, _ in clashes} | {o for _, d in clashes for o in chart.openers[d]}
    return tuple(
        sorted(
            chart.keys[k].name for k in keys if chart.keys[k].standing is not KeyStanding.RETIRED
        )
    )
