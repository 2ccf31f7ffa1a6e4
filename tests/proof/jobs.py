"""Small jobs for tests: charts, plain pinnings and K-1."""

from collections.abc import Iterable, Sequence

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PinnedCylinder, PinStack


def stack_for(levels: Iterable[int]) -> PinStack:
    """Pins that split on exactly these levels."""
    cuts = sorted(set(levels))
    return PinStack(
        bottom=cuts[0], masters=tuple(b - a for a, b in zip(cuts, cuts[1:], strict=False))
    )


def pins_for(
    door: str, bittings: Sequence[Bitting], unpinned: Iterable[int] = ()
) -> PinnedCylinder:
    """A cylinder that splits on the cuts of these keys; ``unpinned`` counts from 0."""
    left = set(unpinned)
    return PinnedCylinder(
        door=door,
        chambers=tuple(
            None if chamber in left else stack_for(cuts)
            for chamber, cuts in enumerate(zip(*bittings, strict=True))
        ),
    )


def pin_chart(chart: AccessChart, bittings: Sequence[Bitting]) -> tuple[PinnedCylinder, ...]:
    """Every door pinned for the keys that the chart marks; each door needs one."""
    return tuple(
        pins_for(door.name, [bittings[key] for key in openers])
        for door, openers in zip(chart.doors, chart.openers, strict=True)
    )


def levels_of(made: HardwareFormat, *stamped: str) -> tuple[Bitting, ...]:
    """Bittings from stamped texts."""
    found = []
    for text in stamped:
        partial = made.read_cuts(text)
        assert partial is not None
        found.append(tuple(level for level in partial if level is not None))
    return tuple(found)


# K-1: Keynotes (Associated Locksmiths of America), February 2022, printed p. 36.
K1_DOORS = {
    "101": ["maintenance", "sales", "quality", "cleaning"],
    "102": ["sales"],
    "103": ["maintenance", "cleaning"],
    "104A": ["sales", "cleaning"],
    "104B": ["sales", "cleaning"],
    "105": ["quality"],
    "106": ["sales", "quality", "cleaning"],
    "107": ["maintenance"],
}
K1_PRINTED = {
    "maintenance": "345621",
    "sales": "365621",
    "quality": "343621",
    "cleaning": "345421",
}
# Derived by us from the same chart: cleaning as the base, each other key one chamber of its own.
K1_MENDED = {
    "maintenance": "365621",
    "sales": "343621",
    "quality": "345421",
    "cleaning": "345621",
}


def k1_chart() -> AccessChart:
    """The chart of K-1."""
    return AccessChart.build(
        [Door(name=name) for name in K1_DOORS],
        [Key(name=name) for name in K1_PRINTED],
        K1_DOORS,
    )


def k1_bittings(made: HardwareFormat, texts: dict[str, str]) -> tuple[Bitting, ...]:
    """The bittings of K-1 in the order of the chart's keys."""
    return levels_of(made, *(texts[key.name] for key in k1_chart().keys))
