"""From checked values to the record the program works with."""

from dataclasses import asdict
from typing import TypeVar

from pinloom.core.hardware import (
    BalancedDrivers,
    BandedDrivers,
    CoreArithmetic,
    CoreKind,
    Depth,
    Dimensions,
    DriverBand,
    HardwareFormat,
    Reading,
    SecurityDriver,
    Stop,
)
from pinloom.core.lengths import Nanometres
from pinloom.hardware.origins import origins
from pinloom.hardware.raw import ONE_DRIVER, RawCore, RawDrivers, RawFormat

T = TypeVar("T")

# No published limit was found. Ours: as few as possible always, four at most unless the format
# says otherwise.
DEFAULT_MOST_MASTERS = 4


def build(raw: RawFormat) -> HardwareFormat:
    """The record of a file without faults; asserts what ``checks`` has established."""
    name, step, chambers = _given(raw.name), _given(raw.step), _given(raw.chambers)
    return HardwareFormat(
        name=name,
        title=raw.title or name,
        chambers=chambers,
        depths=_depths(raw),
        reading=Reading(_given(raw.reading)),
        stop=Stop(_given(raw.stop)),
        step=step,
        first_cut=_given(raw.first_cut),
        spacing=_given(raw.spacing),
        macs=_given(raw.macs),
        least_step=_given(raw.least_step),
        master_pins=tuple(length // step for length in _given(raw.masters)),
        max_masters=raw.max_masters or DEFAULT_MOST_MASTERS,
        drivers=_drivers(raw.drivers, _given(raw.depths.numbers)),
        core=_core(raw.core, chambers),
        security_drivers=tuple(
            SecurityDriver(
                label=driver.label,
                replaces=driver.replaces,
                chambers=tuple(chamber - 1 for chamber in sorted(driver.chambers)),
            )
            for driver in raw.security_drivers
        ),
        dimensions=Dimensions(**asdict(raw.dimensions)),
        origins=origins(raw),
    )


def _given(value: T | None) -> T:
    assert value is not None, "checked before"
    return value


def _depths(raw: RawFormat) -> tuple[Depth, ...]:
    numbers, roots = _given(raw.depths.numbers), _given(raw.depths.roots)
    stamped = raw.depths.stamped or [str(number) for number in numbers]
    pins: list[Nanometres] | list[None] = raw.depths.pins or [None] * len(numbers)
    return tuple(
        Depth(number=number, stamped=text, root=root, bottom_pin=pin)
        for number, text, root, pin in zip(numbers, stamped, roots, pins, strict=True)
    )


def _drivers(raw: RawDrivers | None, numbers: list[int]) -> BandedDrivers | BalancedDrivers:
    if raw is not None and raw.total is not None:
        return BalancedDrivers(total=raw.total, zero_length=raw.zero_length)
    if raw is not None and raw.bands:
        return BandedDrivers(
            bands=tuple(
                DriverBand(label=b.label, low=b.low, high=b.high, length=b.length)
                for b in raw.bands
            )
        )
    return BandedDrivers(bands=(DriverBand(label=ONE_DRIVER, low=min(numbers), high=max(numbers)),))


def _core(raw: RawCore | None, chambers: int) -> CoreArithmetic | None:
    if raw is None:
        return None
    listed = raw.control_chambers or range(1, chambers + 1)
    return CoreArithmetic(
        kind=CoreKind(_given(raw.kind)),
        offset=_given(raw.offset),
        stack_total=_given(raw.stack_total),
        control_chambers=tuple(chamber - 1 for chamber in listed),
        buildup_sizes=tuple(_given(raw.buildups)),
    )
