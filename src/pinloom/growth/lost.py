"""A key is lost: what it opens, and what to do about it at what price.

Theory. The lost copy exists for good, so its cuts join the system as a retired key; the symbol
gets new cuts. Every door that the lost key turns must be pinned anew, which bounds every plan
from below. New pins are not always enough: a door splits on the cuts of its remaining keys, and
where the lost key's cuts lie among those, position by position, some of these keys must be re-cut
too. That is the rule when a master is lost in a layered system: its cuts are made of the change
key's and the top master's. Such doors are the clashes; each plan lets a set of keys that touches
every clash be cut anew, and differs from the others in which set.

Plans run in stages, a trip each. In between, finished doors have new pins and the others old ones,
and a key that is re-cut exists in two copies: the old one for doors not yet done, the new one for
those that are. Whoever needs a re-cut key carries both until the last of its doors is done.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Key, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.names import natural
from pinloom.core.request import DesignOutcome, DesignRequest
from pinloom.growth.grow import attempt, clashes_of, needs_pins
from pinloom.growth.system import System, admitted, splits_of
from pinloom.growth.wanted import Wanted, lay_over, system_of

Designer = Callable[[DesignRequest], DesignOutcome]


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """The shop's own figures, in minutes. The defaults are ours, for want of the shop's."""

    cylinder: int = 12  # take out, re-pin, try, put back
    core: int = 3  # swap for a spare that is pinned already
    key: int = 5  # cut, stamp, hand out one key
    trip: int = 30  # there and back
    per_trip: int = 20  # cylinders done in one trip


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """What the lost key turns: ``doors`` by the chart, ``beyond`` by accident of the pins.

    ``others`` = per door the keys that still open it.
    """

    key: str
    doors: tuple[str, ...]
    beyond: tuple[str, ...]
    others: tuple[tuple[str, tuple[str, ...]], ...]
    pins_alone: bool  # new pins without any other key re-cut would do


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One trip. ``hand_out`` = re-cut keys whose first door is done in it, to be out before it;
    ``take_back`` = re-cut keys whose last door it is.
    """

    doors: tuple[str, ...]
    hand_out: tuple[str, ...]
    take_back: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One way. ``chart`` holds the lost copy as a retired key; ``bittings`` belong to its keys.

    ``minutes`` by the prices; ``least`` = what no plan can go below; ``spares`` = the minutes if
    the cylinders are cores and pinned spares are swapped in, 0 where they are not.
    """

    name: str
    chart: AccessChart
    bittings: tuple[Bitting, ...]
    recut: tuple[str, ...]
    repin: tuple[str, ...]
    stages: tuple[Stage, ...]
    minutes: int
    least: int
    spares: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LostPlans:
    """Exposure and the plans, cheapest first; ``excluded`` = ways proved impossible, ``open`` =
    ways for which none was found.
    """

    exposure: Exposure
    lost_name: str
    plans: tuple[Plan, ...]
    excluded: tuple[str, ...]
    open: tuple[str, ...]


def lost(
    job: Job,
    name: str,
    *,
    prices: Prices | None = None,
    first: Sequence[str] = (),
    designer: Designer | None = None,
) -> LostPlans:
    """Exposure of a lost key, and plans. ``first`` = doors to do before all others (perimeter).

    Raises ValueError when the job has no such key: callers check names first.
    """
    prices = prices or Prices()
    index = job.chart.key_index()
    if name not in index:
        raise ValueError(f"no key {name}")
    key = index[name]
    formats = tuple(job.format_of(d) for d in range(len(job.chart.doors)))
    wanted, lost_name = _with_lost_copy(job, key, formats)
    base = system_of(job, wanted, formats, frozenset({name}))
    exposure = _exposure(job, key, base)
    seen: set[frozenset[str]] = set()
    plans: list[Plan] = []
    excluded: list[str] = []
    unknown: list[str] = []
    for title, free in _ways(base, wanted, name):
        if free in seen:
            continue
        seen.add(free)
        answer = attempt(job, wanted, formats, free | {name}, designer)
        if isinstance(answer, System):
            plans.append(_plan(title, answer, wanted, exposure, prices, first))
        else:
            (excluded if answer else unknown).append(title)
    plans.sort(key=lambda plan: (plan.minutes, len(plan.repin), plan.name))
    return LostPlans(
        exposure=exposure,
        lost_name=lost_name,
        plans=tuple(plans),
        excluded=tuple(excluded),
        open=tuple(unknown),
    )


def _with_lost_copy(job: Job, key: int, formats: Sequence[HardwareFormat]) -> tuple[Wanted, str]:
    """The job with the lost copy as a retired key; its doors are the ones to change."""
    chart = job.chart
    name = chart.keys[key].name
    lost_name = _free_name(chart, f"{name} lost")
    copy = Key(name=lost_name, standing=KeyStanding.RETIRED, blank=chart.keys[key].blank)
    grown = AccessChart.build(chart.doors, (*chart.keys, copy), chart.opens(), chart.blanks)
    laid = lay_over(job, grown, formats)
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


def _exposure(job: Job, key: int, base: System) -> Exposure:
    chart = job.chart
    _, rows = replace(base, chart=chart, cuts=(job.bittings[key],)).known()
    doors, beyond, others = [], [], []
    for d, (door, row) in enumerate(zip(chart.doors, chart.openers, strict=True)):
        wall = splits_of(job.key_format, job.format_of(d), job.pinning[d])
        turns = bool(admitted(wall, rows, job.key_format)[0])
        if key in row:
            doors.append(door.name)
            rest = tuple(chart.keys[k].name for k in row if k != key)
            others.append((door.name, rest))
        elif turns and chart.enters(chart.keys[key], door):
            beyond.append(door.name)
    return Exposure(
        key=chart.keys[key].name,
        doors=tuple(doors),
        beyond=tuple(beyond),
        others=tuple(others),
        pins_alone=not clashes_of(base),
    )


def _ways(base: System, wanted: Wanted, name: str) -> list[tuple[str, frozenset[str]]]:
    """Sets of keys to cut anew beside the lost one, by title. Each touches every clash."""
    chart = base.chart
    clashes = clashes_of(base)
    if not clashes:
        return [("this key alone", frozenset())]
    columns = chart.doors_of()
    exposed = {d for d, door in enumerate(chart.doors) if door.name in wanted.changed}
    live = {k for k, key in enumerate(chart.keys) if key.standing is not KeyStanding.RETIRED}
    hit = {d for _, d in clashes}
    lower: set[int] = set()
    for d in hit:
        openers = [k for k in chart.openers[d] if k in live and chart.keys[k].name != name]
        lower |= {min(openers, key=lambda k: (len(columns[k]), k))} if openers else set()
    within = {
        k for k in live if columns[k] and set(columns[k]) <= exposed and chart.keys[k].name != name
    }
    upper = _cover(chart, hit, live, columns, name)
    ways = [
        ("it and the lowest key of each door", lower),
        ("it and the whole group below it", within | lower),
    ]
    if upper:
        ways.append(("it and the fewest keys above it", upper))
    return [(title, frozenset(chart.keys[k].name for k in keys)) for title, keys in ways]


def _cover(
    chart: AccessChart,
    hit: set[int],
    live: set[int],
    columns: tuple[tuple[int, ...], ...],
    name: str,
) -> set[int]:
    """Few keys that reach every clashing door, greedily: the masters above, as a rule."""
    left, chosen = set(hit), set()
    while left:
        gain = {
            k: len(left & set(columns[k]))
            for k in live
            if chart.keys[k].name != name and k not in chosen
        }
        best = max(gain, key=lambda k: (gain[k], -k), default=None)
        if best is None or not gain[best]:
            return set()
        chosen.add(best)
        left -= set(columns[best])
    return chosen


def _plan(
    title: str,
    system: System,
    wanted: Wanted,
    exposure: Exposure,
    prices: Prices,
    first: Sequence[str],
) -> Plan:
    chart = system.chart
    repin = [chart.doors[d].name for d in needs_pins(system, wanted)]
    recut = tuple(
        key.name
        for key, cut in zip(chart.keys, system.cuts, strict=True)
        if cut is not None and wanted.cuts.get(key.name) != cut
    )
    stages = _stages(chart, repin, recut, prices, first)
    count = {door.name: door.count for door in chart.doors}
    copies = {key.name: key.copies or 1 for key in chart.keys}
    cylinders = sum(count[name] for name in repin)
    keys = sum(copies[name] for name in recut)
    exposed = sum(count[name] for name in exposure.doors)
    cores = all(made.core is not None for made in system.formats)
    fixed = keys * prices.key + len(stages) * prices.trip
    least_trips = -(-exposed // prices.per_trip) if exposed else 0
    return Plan(
        name=title,
        chart=chart,
        bittings=tuple(cut for cut in system.cuts if cut is not None),
        recut=recut,
        repin=tuple(repin),
        stages=stages,
        minutes=fixed + cylinders * prices.cylinder,
        least=exposed * prices.cylinder
        + copies[exposure.key] * prices.key
        + least_trips * prices.trip,
        spares=fixed + cylinders * prices.core if cores else 0,
    )


def _stages(
    chart: AccessChart,
    repin: Sequence[str],
    recut: Sequence[str],
    prices: Prices,
    first: Sequence[str],
) -> tuple[Stage, ...]:
    """Doors in order, perimeter first, cut into trips; doors that share re-cut keys come together
    so that nobody carries two copies for long.
    """
    index = chart.door_index()
    anew = set(recut)
    count = {door.name: door.count for door in chart.doors}

    def rank(name: str) -> tuple[object, ...]:
        keys = tuple(k for k in chart.openers[index[name]] if chart.keys[k].name in anew)
        return name not in first, keys, natural(name)

    trips: list[list[str]] = []
    room = 0
    for name in sorted(repin, key=rank):
        starts = bool(trips) and (trips[-1][-1] in first) and name not in first
        if not trips or room < count[name] or starts:
            trips.append([])
            room = prices.per_trip
        trips[-1].append(name)
        room -= count[name]
    doors_of = {
        key: [name for name in repin if chart.key_index()[key] in chart.openers[index[name]]]
        for key in recut
    }
    place = {name: t for t, trip in enumerate(trips) for name in trip}
    return tuple(
        Stage(
            doors=tuple(trip),
            hand_out=tuple(
                key
                for key, mine in doors_of.items()
                if mine and min(map(place.get, mine)) == t  # type: ignore[type-var]
            ),
            take_back=tuple(
                key
                for key, mine in doors_of.items()
                if mine and max(map(place.get, mine)) == t  # type: ignore[type-var]
            ),
        )
        for t, trip in enumerate(trips)
    )
