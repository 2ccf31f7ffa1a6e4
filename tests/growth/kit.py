"""Small hardware and jobs for the growth tests: invented, tiny, so that brute force is quick."""

from itertools import product

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.hardware import (
    BandedDrivers,
    Depth,
    DriverBand,
    HardwareFormat,
    Reading,
    Stop,
)
from pinloom.core.job import Job, ProofReport
from pinloom.core.stacks import PinnedCylinder, PinStack


def tiny(
    chambers: int = 3, depths: int = 4, least_step: int = 1, macs: int = 3, masters: int = 2
) -> HardwareFormat:
    """A small format with every difference from ``least_step`` up made as a master pin."""
    return HardwareFormat(
        name=f"tiny-{chambers}x{depths}",
        title="test format",
        chambers=chambers,
        depths=tuple(
            Depth(number=n, stamped=str(n), root=8_000_000 - 600_000 * n) for n in range(depths)
        ),
        reading=Reading.BOW_TO_TIP,
        stop=Stop.SHOULDER,
        step=600_000,
        first_cut=5_000_000,
        spacing=4_000_000,
        macs=macs,
        least_step=least_step,
        master_pins=tuple(range(least_step, depths)),
        max_masters=masters,
        drivers=BandedDrivers(bands=(DriverBand(label="1", low=0, high=depths),)),
    )


def chart_of(rows: dict[str, str], retired: str = "", reserved: str = "") -> AccessChart:
    """A chart from door -> keys separated by blanks; more keys by standing."""
    standing = dict.fromkeys(retired.split(), KeyStanding.RETIRED)
    standing |= dict.fromkeys(reserved.split(), KeyStanding.RESERVED)
    names = {key for keys in rows.values() for key in keys.split()} | standing.keys()
    keys = [
        Key(name=name, standing=standing.get(name, KeyStanding.ACTIVE)) for name in sorted(names)
    ]
    return AccessChart.build(
        [Door(name=door) for door in rows], keys, {d: k.split() for d, k in rows.items()}
    )


def pins_for(
    chart: AccessChart, made: HardwareFormat, cuts: tuple[Bitting, ...]
) -> tuple[PinnedCylinder, ...]:
    """Every door pinned for exactly its keys."""
    found = []
    for door, row in zip(chart.doors, chart.openers, strict=True):
        stacks = []
        for p in range(made.chambers):
            levels = sorted({cuts[k][p] for k in row})
            steps = tuple(b - a for a, b in zip(levels, levels[1:], strict=False))
            stacks.append(PinStack(bottom=levels[0], masters=steps, driver="1"))
        found.append(PinnedCylinder(door=door.name, chambers=tuple(stacks)))
    return tuple(found)


def job_of(chart: AccessChart, made: HardwareFormat, cuts: tuple[Bitting, ...]) -> Job:
    """A job as it would be on disk; its proof is of no interest to these tests."""
    return Job(
        name="test",
        revision=1,
        chart=chart,
        formats=(made,),
        bittings=cuts,
        controls=(),
        pinning=pins_for(chart, made, cuts),
        proof=ProofReport(faults=(), pairs=0, tightest=None, fingerprint=""),
    )


def opens_by_levels(splits: list[set[int]], cut: Bitting, least_step: int) -> bool:
    """The second rule of opening, said as plainly as possible."""
    return all(
        any(abs(level - mine) < least_step for level in levels)
        for levels, mine in zip(splits, cut, strict=True)
    )


def every_bitting(made: HardwareFormat) -> list[Bitting]:
    """The whole key space, one by one."""
    return list(product(range(made.levels), repeat=made.chambers))


def right(
    chart: AccessChart,
    made: HardwareFormat,
    cuts: tuple[Bitting, ...],
    splits: list[list[set[int]]],
) -> bool:
    """Whether every key does exactly what the chart says in doors that split so."""
    for d, row in enumerate(chart.openers):
        for k, cut in enumerate(cuts):
            exact = all(mine in levels for levels, mine in zip(splits[d], cut, strict=True))
            if k in row and not exact:
                return False
            if k not in row and opens_by_levels(splits[d], cut, made.least_step):
                return False
    return True
