"""Tiny tasks as charts and formats, as the engine is asked them."""

from pinloom.core.chart import AccessChart, Blank, Door, Key
from pinloom.core.hardware import (
    BandedDrivers,
    Depth,
    DriverBand,
    HardwareFormat,
    Reading,
    Stop,
)
from pinloom.core.keyrules import Force, KeyRules
from pinloom.core.request import DesignRequest
from tests.oracle.brute import Tiny, TinyLock

STEP = 400_000
PLAIN = KeyRules(
    not_all_equal=Force.OFF,
    neighbours_equal=Force.OFF,
    total_equal=Force.OFF,
    not_steady=Force.OFF,
    not_deep_at_bow=Force.OFF,
)


def tiny_format(
    chambers: int,
    levels: int,
    *,
    macs: int | None = None,
    least_step: int = 1,
    pins: tuple[int, ...] | None = None,
    max_masters: int = 4,
) -> HardwareFormat:
    """A laboratory format; sizes are invented."""
    sizes = tuple(range(least_step, levels)) or (1,)
    return HardwareFormat(
        name=f"lab-{chambers}x{levels}",
        title="laboratory",
        chambers=chambers,
        depths=tuple(
            Depth(number=n, stamped=str(n % 10), root=9_000_000 - n * STEP) for n in range(levels)
        ),
        reading=Reading.BOW_TO_TIP,
        stop=Stop.SHOULDER,
        step=STEP,
        first_cut=5_000_000,
        spacing=4_000_000,
        macs=levels - 1 if macs is None else macs,
        least_step=least_step,
        master_pins=pins or sizes,
        max_masters=max_masters,
        drivers=BandedDrivers(bands=(DriverBand(label="driver", low=0, high=levels),)),
    )


def request_of(task: Tiny) -> DesignRequest:
    """The task as a request: keys k0, k1, ..., doors d0, d1, ..."""
    chart = chart_of(task.positions, task.keys, task.locks)
    fmt = tiny_format(
        task.positions,
        task.levels,
        macs=task.macs,
        least_step=task.least_step,
        pins=tuple(sorted(task.pins)),
        max_masters=task.most_masters,
    )
    return DesignRequest(
        chart=chart,
        key_format=fmt,
        cylinder_formats=(fmt,) * len(chart.doors),
        fixed=task.given or (None,) * task.keys,
        rules=KeyRules() if task.all_equal_refused else PLAIN,
    )


def chart_of(positions: int, keys: int, locks: tuple[TinyLock, ...]) -> AccessChart:
    """A chart with one keyway for each door that some keys cannot enter."""
    return AccessChart.build(
        doors=[
            Door(
                name=f"d{n}",
                keyway=f"way {n}" if lock.outside else "",
                unpinned=tuple(p + 1 for p in range(positions) if p not in lock.active),
            )
            for n, lock in enumerate(locks)
        ],
        keys=[Key(name=f"k{k}", blank=f"blank {k}") for k in range(keys)],
        opens={f"d{n}": [f"k{k}" for k in lock.openers] for n, lock in enumerate(locks)},
        blanks=[
            Blank(
                name=f"blank {k}",
                enters=tuple(f"way {n}" for n, lock in enumerate(locks) if k not in lock.outside),
            )
            for k in range(keys)
        ],
    )
