"""A key is lost: what it opens, and what to do about it at what price.

Theory. The lost copy exists for good, so its cuts join the system as a retired key; the symbol
gets new cuts. Every door that the lost key turns must be pinned anew, which bounds every plan
from below. New pins are not always enough: where the lost key's cuts lie among those of a door's
other keys, position by position, some of these keys must be re-cut too (``covers``). That is the
rule when a master is lost in a layered system: its cuts are made of the change key's and the top
master's. In the chambers where a lost group master has the group's own cut all change keys of the
group have that cut as well; elsewhere it has the cut of the masters above it. So either the change
keys are cut anew, with the group's cylinders alone, or a master above, with all cylinders of that
master. ``covers`` finds such ways and their bounds, ``blocks`` moves a whole group to other common
cuts, ``moving`` places the keys and cuts others anew where that is the price of a place.

Plans run in stages, a trip each. In between, finished doors have new pins and the others old ones,
and a key that is re-cut exists in two copies: the old one for doors not yet done, the new one for
those that are. Whoever needs a re-cut key carries both until the last of its doors is done.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Key, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.growth.blocks import blocks
from pinloom.growth.covers import Figures, Way, clashes_with, holds, least, ways
from pinloom.growth.grow import Designer, attempt, clashes_of, needs_pins
from pinloom.growth.moving import TURNS, Costs, Move, Moved, axes_of, costs, move, put_back
from pinloom.growth.plans import (
    Bill,
    Bound,
    Exposure,
    LostPlans,
    Plan,
    Prices,
    Stage,
    Tally,
    bill,
    stages,
    swap_bill,
    swapped_in_a_trip,
    tally,
    trips_for,
)
from pinloom.growth.system import System, admitted, splits_of
from pinloom.growth.wanted import Wanted, lay_over, system_of

__all__ = ["Bill", "Bound", "Exposure", "LostPlans", "Plan", "Prices", "Stage", "Tally", "lost"]

Progress = Callable[[str], None]
WAYS = 3  # sets of keys that are followed to a plan, cheapest first, each title at least once
BLOCKS = 4  # maps of a group that are tried
SEEDS = 3  # searches from each map, where the keys are few, and without one
SMALL = 60  # keys that count as few
POLISHED = 3  # of the systems found, how many are looked at for keys cut anew without need
STEPS = 1_000  # keys placed for one way, after which the best so far stands
FEW_STEPS = 400  # the same for a way that cannot be the cheapest
MOST_CELLS = 5_000_000  # keys times bittings up to which the other searches are asked as well
HALF = 2  # a group of more than one door in so many is no group but the system
GROUP = "group"  # the way that cuts every key of a group anew, needed or not
TITLES = {
    "alone": "this key alone",
    "below": "it and keys below it",
    "above": "it and keys above it",
    "both": "it and keys above and below it",
    GROUP: "the whole group",
}


def lost(
    job: Job,
    name: str,
    *,
    prices: Prices | None = None,
    first: Sequence[str] = (),
    avoid: Sequence[Bitting] = (),
    designer: Designer | None = None,
    progress: Progress | None = None,
) -> LostPlans:
    """Exposure of a lost key, and plans. ``first`` = doors to do before all others (perimeter);
    ``avoid`` = cuts that no re-cut key may get.

    Raises ValueError when the job has no such key: callers check names first.
    """
    if name not in job.chart.key_index():
        raise ValueError(f"no key {name}")
    return _Search(job, name, prices or Prices(), first, avoid, designer, progress).run()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A system in which the lost copy opens nothing, and what it takes to get there."""

    system: System
    recut: tuple[str, ...]
    repin: tuple[str, ...]
    bill: Bill


class _Search:
    def __init__(
        self,
        job: Job,
        name: str,
        prices: Prices,
        first: Sequence[str],
        avoid: Sequence[Bitting],
        designer: Designer | None,
        progress: Progress | None,
    ) -> None:
        self._job, self._name, self._prices, self._first = job, name, prices, first
        self._designer, self._progress = designer, progress
        self._formats = tuple(job.format_of(d) for d in range(len(job.chart.doors)))
        self._wanted, self._lost_name = _with_lost_copy(job, name, self._formats, avoid)
        self._base = system_of(job, self._wanted, self._formats, frozenset({name}))
        self._chart = self._base.chart
        self._key = self._chart.key_index()[name]
        self._copy = job.cuts()[name]
        self._exposed = frozenset(
            d for d, row in enumerate(self._chart.openers) if self._key in row
        )
        self._clashes = clashes_with(self._base, self._copy, self._exposed)
        self._pieces = {
            k: float((key.copies or 1) * (prices.key + prices.issue))
            for k, key in enumerate(self._chart.keys)
        }
        pins = [
            0.0 if d in self._exposed else float(prices.cylinder * door.count)
            for d, door in enumerate(self._chart.doors)
        ]
        self._figures = Figures(self._base, self._pieces, pins)
        self._axes = axes_of(self._base)
        self._faults = set(clashes_of(self._base)) if not job.proof.proved else set()

    def run(self) -> LostPlans:
        bound = self._bound()
        plans: list[Plan] = []
        unfound: list[str] = []
        for way in self._ways():
            self._say(f"lost key: re-cutting {TITLES[way.title]}")
            dear = bool(plans) and self._floor(way) > min(plan.minutes for plan in plans)
            found = self._follow(way, bound, thorough=not dear and way.title != GROUP)
            if found is None:
                unfound.append(TITLES[way.title])
                continue
            if any((plan.recut, plan.repin) == (found.recut, found.repin) for plan in plans):
                continue
            same = [plan for plan in plans if plan.name == TITLES[way.title]]
            if not same or found.bill.minutes < same[0].minutes:
                plans = [plan for plan in plans if plan not in same]
                plans.append(self._plan(way, found, bound))
        plans.sort(key=lambda plan: (plan.minutes, len(plan.repin), plan.name))
        done = {plan.name for plan in plans}
        return LostPlans(
            exposure=_exposure(self._job, self._name, self._base, not self._clashes),
            lost_name=self._lost_name,
            plans=tuple(plans),
            excluded=(TITLES["alone"],) if self._clashes else (),
            open=tuple(title for title in dict.fromkeys(unfound) if title not in done),
            bound=bound,
        )

    # --- ways ------------------------------------------------------------------------------

    def _ways(self) -> list[Way]:
        """The cheapest way of each title, then the cheapest others, then the whole group."""
        every = ways(self._figures, self._clashes, self._exposed)
        titled = {way.title: way for way in reversed(every)}
        chosen = [way for way in every if titled[way.title] is way]
        chosen += [way for way in every if way not in chosen][: WAYS - len(chosen)]
        group = self._group()
        return chosen if group is None else [*chosen, group]

    def _group(self) -> Way | None:
        """Every key under the smallest master that opens all that the lost key opens: itself where
        keys lie under it.
        """
        columns = self._figures.columns
        rows = [frozenset(row) for row in columns]
        over = [k for k, row in enumerate(rows) if row and self._exposed <= row]
        if not any(row < self._exposed for row in rows if row):
            over = [k for k in over if rows[k] > self._exposed]
        if not self._exposed or not over:
            return None
        doors = min((rows[k] for k in over), key=lambda row: (len(row), sorted(row)))
        if len(doors) * HALF > len(self._chart.doors):
            return None
        keys = frozenset(k for k, row in enumerate(rows) if row and row <= doors) - {self._key}
        return Way(title=GROUP, keys=keys) if keys and holds(keys, self._clashes) else None

    def _bound(self) -> Bound:
        prices = self._prices
        beyond = [[d for d in row if d not in self._exposed] for row in self._figures.columns]
        more = least(self._figures, self._clashes, beyond, prices.cylinder)
        cylinders = tally(self._chart.doors[d] for d in self._exposed).cylinders
        trips = trips_for(cylinders + more.cylinders, prices.per_trip)
        minutes = (
            cylinders * prices.cylinder
            + self._pieces[self._key]
            + more.minutes
            + trips * prices.trip
        )
        return Bound(
            cylinders=cylinders + more.cylinders,
            keys=1 + more.keys,
            minutes=int(np.ceil(minutes - 1e-6)),
        )

    # --- one way ---------------------------------------------------------------------------

    def _floor(self, way: Way) -> float:
        """About what this way takes at least; the trips beside."""
        exposed = tally(self._chart.doors[d] for d in self._exposed).cylinders
        pieces = self._pieces[self._key] + self._figures.price(way.keys)
        return exposed * self._prices.cylinder + pieces

    def _follow(self, way: Way, bound: Bound, *, thorough: bool) -> _Found | None:
        """The cheapest system found that cuts these keys anew; the first one found where the way
        cannot be the cheapest of all.
        """
        keys = tuple(sorted(way.keys | {self._key}))
        names = frozenset(self._chart.keys[k].name for k in keys)
        system = system_of(self._job, self._wanted, self._formats, names)
        doors = {d for k in keys for d in self._figures.columns[k]}
        pins = np.array(
            [
                0.0 if d in doors else float(self._prices.cylinder * door.count)
                for d, door in enumerate(self._chart.doors)
            ]
        )
        price = costs(system, self._pieces, pins)
        every = way.title == GROUP
        found = self._tried(system, keys, price, bound, thorough=thorough, every=every)
        if thorough:
            found = [
                one
                if one.bill.minutes <= bound.minutes
                else self._fewer_extras(one, keys, system, price)
                for one in found[: 1 if self._large(keys) else POLISHED]
            ]
        if not found and len(keys) * system.made.levels**system.made.chambers <= MOST_CELLS:
            answer = attempt(self._job, self._wanted, self._formats, names, self._designer)
            return self._judged(answer) if isinstance(answer, System) else None
        return min(found, key=_rank, default=None)

    def _large(self, keys: tuple[int, ...]) -> bool:
        """Whether one search takes a second or more."""
        return len(keys) > SMALL or len(self._exposed) > SMALL * 3

    def _tried(
        self,
        system: System,
        keys: tuple[int, ...],
        price: Costs,
        bound: Bound,
        *,
        thorough: bool,
        every: bool,
    ) -> list[_Found]:
        """What some starts lead to, cheapest first: the best maps of the block, then none. With
        ``every`` no key keeps its cuts.
        """
        cuts = self._wanted.cuts
        old = {k: cuts[self._chart.keys[k].name] for k in keys}
        maps = blocks(system, old, price, self._axes, BLOCKS)
        tries = [
            Move(free=keys, prices=price, hints=block.cuts, out=block.out, seed=seed)
            for seed in range(1 if self._large(keys) else SEEDS)
            for block in maps
        ]
        bare = range(1 if self._large(keys) and maps else SEEDS)
        tries[BLOCKS:BLOCKS] = [Move(free=keys, prices=price, hints={}, seed=seed) for seed in bare]
        found: list[_Found] = []
        steps = 0
        for start in tries:
            moved = move(system, replace(start, never=old) if every else start, self._axes)
            steps += moved.steps if moved is not None else TURNS * len(keys)
            one = self._found(moved, () if every else keys)
            if one is not None and all(_rank(one) != _rank(other) for other in found):
                found.append(one)
            enough = found and (not thorough or found[-1].bill.minutes <= bound.minutes)
            if enough or steps > (STEPS if thorough else FEW_STEPS):
                break
        return sorted(found, key=_rank)

    def _fewer_extras(
        self, best: _Found, keys: tuple[int, ...], system: System, price: Costs
    ) -> _Found:
        """Keep one key after another that a plan cuts anew without need, and place the rest anew
        around it.
        """
        number = self._chart.key_index()
        tried: set[int] = set()
        steps = 0
        while steps < STEPS:
            extra = {number[name] for name in best.recut} - set(keys)
            left = sorted(extra - tried, key=lambda k: (-float(price[k]), k))
            if not left:
                break
            tried.add(left[0])
            steps += len(keys) + len(extra)
            now = {
                k: cut
                for k in (*keys, *extra)
                if (cut := best.system.cuts[k]) is not None and k != left[0]
            }
            again = Move(free=keys, prices=price, hints=now, out=frozenset(extra - {left[0]}))
            found = self._found(move(system, again, self._axes), keys)
            best = found if found is not None and _rank(found) < _rank(best) else best
        return best

    def _found(self, moved: Moved | None, keys: tuple[int, ...]) -> _Found | None:
        if moved is None:
            return None
        cuts = self._wanted.cuts
        back = sorted((moved.extra | set(keys)) - {self._key})
        before = {k: cuts[self._chart.keys[k].name] for k in back}
        return self._judged(put_back(moved.system, back, before))

    def _judged(self, system: System) -> _Found | None:
        """What a system takes; None where its cuts do not hold, which its maker should not do."""
        if set(clashes_of(system)) - self._faults:
            return None
        chart, cuts = self._chart, self._wanted.cuts
        recut = tuple(
            key.name
            for key, cut in zip(chart.keys, system.cuts, strict=True)
            if cut is not None and cuts.get(key.name) != cut
        )
        doors = needs_pins(system, self._wanted)
        number = chart.key_index()
        pieces = sum(chart.keys[number[name]].copies or 1 for name in recut)
        cylinders = tally(chart.doors[d] for d in doors).cylinders
        return _Found(
            system=system,
            recut=recut,
            repin=tuple(chart.doors[d].name for d in doors),
            bill=bill(self._prices, cylinders, pieces, trips_for(cylinders, self._prices.per_trip)),
        )

    def _plan(self, way: Way, found: _Found, bound: Bound) -> Plan:
        chart, prices = self._chart, self._prices
        cores = all(made.core is not None for made in self._formats)
        exposed = [door.name for d, door in enumerate(chart.doors) if d in self._exposed]
        index = chart.door_index()
        trips, swaps = (
            stages(chart, found.repin, found.recut, exposed, most, self._first)
            for most in (prices.per_trip, swapped_in_a_trip(prices))
        )
        size = (found.bill.cylinders, found.bill.pieces)
        return Plan(
            name=TITLES[way.title],
            chart=chart,
            bittings=tuple(cut for cut in found.system.cuts if cut is not None),
            recut=found.recut,
            repin=found.repin,
            tally=tally(chart.doors[index[name]] for name in found.repin),
            stages=trips,
            bill=bill(prices, *size, len(trips)),
            swap=swap_bill(prices, *size, len(swaps)) if cores else None,
            swap_stages=swaps if cores else (),
            bound=bound,
        )

    def _say(self, text: str) -> None:
        if self._progress is not None:
            self._progress(text)


def _rank(found: _Found) -> tuple[int, int, int]:
    return found.bill.minutes, found.bill.cylinders, found.bill.pieces


def _with_lost_copy(
    job: Job, name: str, formats: Sequence[HardwareFormat], avoid: Sequence[Bitting]
) -> tuple[Wanted, str]:
    """The job with the lost copy as a retired key; its doors are the ones to change."""
    chart = job.chart
    key = chart.key_index()[name]
    lost_name = _free_name(chart, f"{name} lost")
    copy = Key(name=lost_name, standing=KeyStanding.RETIRED, blank=chart.keys[key].blank)
    grown = AccessChart.build(chart.doors, (*chart.keys, copy), chart.opens(), chart.blanks)
    laid = lay_over(job, grown, formats, (), avoid)
    exposed = frozenset(chart.doors[d].name for d, row in enumerate(chart.openers) if key in row)
    return (
        replace(laid, cuts={**laid.cuts, lost_name: job.bittings[key]}, changed=exposed),
        lost_name,
    )


def _free_name(chart: AccessChart, name: str) -> str:
    taken = {key.name for key in chart.keys}
    number, found = 1, name
    while found in taken:
        number += 1
        found = f"{name} {number}"
    return found


def _exposure(job: Job, name: str, base: System, pins_alone: bool) -> Exposure:
    chart = job.chart
    key = chart.key_index()[name]
    cut: Bitting = job.bittings[key]
    _, rows = replace(base, chart=chart, cuts=(cut,)).known()
    doors, beyond, others = [], [], []
    for d, (door, row) in enumerate(zip(chart.doors, chart.openers, strict=True)):
        wall = splits_of(job.key_format, job.format_of(d), job.pinning[d])
        turns = bool(admitted(wall, rows, job.key_format)[0])
        if key in row:
            doors.append(door)
            rest = tuple(chart.keys[k].name for k in row if k != key)
            others.append((door.name, rest))
        elif turns and chart.enters(chart.keys[key], door):
            beyond.append(door.name)
    return Exposure(
        key=name,
        doors=tuple(door.name for door in doors),
        beyond=tuple(beyond),
        others=tuple(others),
        tally=tally(doors),
        pins_alone=pins_alone,
    )
