"""Plans for a lost key as records: what is done in which trip, for whom, and at what price."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door
from pinloom.core.names import natural


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """The shop's own figures, in minutes. The defaults are ours, for want of the shop's."""

    cylinder: int = 12  # take out, re-pin, try, put back
    core: int = 3  # swap for a spare that is pinned already
    bench: int = 8  # pin one spare core at the bench beforehand
    key: int = 3  # cut and stamp one key
    issue: int = 5  # call one key back, hand the new one out, have it signed for
    trip: int = 30  # there and back
    per_trip: int = 20  # cylinders done in one trip
    cores_per_trip: int = 60  # cores swapped in one trip
    spares: int = 0  # spare cores at hand; 0 = as many as are wanted
    days: int = 1  # from one trip to the next


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Rows of the chart, the openings they belong to, and the cylinders they stand for."""

    doors: int
    openings: int
    cylinders: int


def tally(doors: Iterable[Door]) -> Tally:
    """Doors counted: a row may stand for several cylinders, an opening may have several rows."""
    chosen = tuple(doors)
    return Tally(
        doors=len(chosen),
        openings=len({(bool(door.opening), door.opening or door.name) for door in chosen}),
        cylinders=sum(door.count for door in chosen),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """What the lost key turns: ``doors`` by the chart, ``beyond`` by accident of the pins.

    ``others`` = per door the keys that still open it; ``tally`` counts ``doors``.
    """

    key: str
    doors: tuple[str, ...]
    beyond: tuple[str, ...]
    others: tuple[tuple[str, tuple[str, ...]], ...]
    tally: Tally
    pins_alone: bool  # new pins without any other key re-cut would do


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One trip. ``hand_out`` = re-cut keys whose first door is done in it, to be out before it;
    ``take_back`` = re-cut keys whose last door it is; ``exposed`` = doors that the lost key still
    opens after it.
    """

    doors: tuple[str, ...]
    hand_out: tuple[str, ...]
    take_back: tuple[str, ...]
    exposed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """What a plan costs, in minutes by kind; ``bench`` = pinning spares beforehand."""

    cylinders: int
    pieces: int  # keys cut, copies counted
    trips: int
    doors: int  # minutes at the doors
    bench: int
    keys: int
    ways: int  # minutes of the trips

    @property
    def minutes(self) -> int:
        """All of it."""
        return self.doors + self.bench + self.keys + self.ways


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """What no plan can go below. Each holds by itself; ``minutes`` is no sum of the others."""

    cylinders: int
    keys: int  # symbols cut anew, the lost one counted
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One way. ``chart`` holds the lost copy as a retired key; ``bittings`` belong to its keys.

    ``bill`` and ``stages`` re-pin at the doors; ``swap`` and ``swap_stages`` swap cores for pinned
    spares: None and none where the cylinders are no cores.
    """

    name: str
    chart: AccessChart
    bittings: tuple[Bitting, ...]
    recut: tuple[str, ...]
    repin: tuple[str, ...]
    tally: Tally
    stages: tuple[Stage, ...]
    bill: Bill
    swap: Bill | None
    swap_stages: tuple[Stage, ...]
    bound: Bound

    @property
    def minutes(self) -> int:
        """What re-pinning at the doors takes."""
        return self.bill.minutes

    @property
    def least(self) -> int:
        """What no plan can go below, in minutes."""
        return self.bound.minutes

    @property
    def spares(self) -> int:
        """What swapping in pinned spares takes; 0 where the cylinders are no cores."""
        return self.swap.minutes if self.swap is not None else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LostPlans:
    """Exposure and the plans, cheapest first; ``excluded`` = ways proved impossible, ``open`` =
    ways for which none was found; ``bound`` holds for every plan there can be.
    """

    exposure: Exposure
    lost_name: str
    plans: tuple[Plan, ...]
    excluded: tuple[str, ...]
    open: tuple[str, ...]
    bound: Bound


def bill(prices: Prices, cylinders: int, pieces: int, trips: int) -> Bill:
    """Re-pinning at the doors."""
    return Bill(
        cylinders=cylinders,
        pieces=pieces,
        trips=trips,
        doors=cylinders * prices.cylinder,
        bench=0,
        keys=pieces * (prices.key + prices.issue),
        ways=trips * prices.trip,
    )


def swapped_in_a_trip(prices: Prices) -> int:
    """Cores swapped in one trip: with few spares those that come back are pinned for the next."""
    return min(prices.cores_per_trip, prices.spares or prices.cores_per_trip)


def swap_bill(prices: Prices, cylinders: int, pieces: int, trips: int) -> Bill:
    """Cores swapped: each spare is pinned at the bench first."""
    return Bill(
        cylinders=cylinders,
        pieces=pieces,
        trips=trips,
        doors=cylinders * prices.core,
        bench=cylinders * prices.bench,
        keys=pieces * (prices.key + prices.issue),
        ways=trips * prices.trip,
    )


def trips_for(cylinders: int, most: int) -> int:
    """Fewest trips for so many cylinders."""
    return -(-cylinders // most)


def stages(
    chart: AccessChart,
    repin: Sequence[str],
    recut: Sequence[str],
    exposed: Sequence[str],
    most: int,
    first: Sequence[str],
) -> tuple[Stage, ...]:
    """Perimeter first, cut into trips of ``most`` cylinders; doors that share re-cut keys come
    together so that nobody carries two copies for long. Within a trip doors stand in the order of
    their names, which is the way to walk as far as a chart knows it.
    """
    index = chart.door_index()
    trips = _trips(chart, index, repin, frozenset(recut), most, first)
    place = {name: t for t, trip in enumerate(trips) for name in trip}
    number = chart.key_index()
    spans: dict[str, tuple[int, int]] = {}
    columns = chart.doors_of()
    for key in recut:
        when = [place[n] for d in columns[number[key]] if (n := chart.doors[d].name) in place]
        # A key whose doors all keep their pins is changed hands at the first trip.
        spans[key] = (min(when, default=0), max(when, default=0))
    return tuple(
        Stage(
            doors=tuple(sorted(trip, key=natural)),
            hand_out=tuple(key for key, (start, _) in spans.items() if start == t),
            take_back=tuple(key for key, (_, end) in spans.items() if end == t),
            exposed=tuple(name for name in exposed if place.get(name, len(trips)) > t),
        )
        for t, trip in enumerate(trips)
    )


def _trips(
    chart: AccessChart,
    index: Mapping[str, int],
    repin: Sequence[str],
    anew: frozenset[str],
    most: int,
    first: Sequence[str],
) -> list[list[str]]:
    early = frozenset(first)

    def rank(name: str) -> tuple[object, ...]:
        keys = tuple(k for k in chart.openers[index[name]] if chart.keys[k].name in anew)
        return name not in early, keys, natural(name)

    trips: list[list[str]] = []
    room = 0
    for name in sorted(repin, key=rank):
        cylinders = chart.doors[index[name]].count
        starts = bool(trips) and (trips[-1][-1] in early) and name not in early
        if not trips or room < cylinders or starts:
            trips.append([])
            room = most
        trips[-1].append(name)
        room -= cylinders
    return trips
