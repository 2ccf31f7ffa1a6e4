"""Formats back to text, and confirmation of their numbers.

A format written here and read again is the same record. A job keeps its formats as such texts, so
that it does not change when a file elsewhere does.
"""

from collections.abc import Collection
from dataclasses import fields, replace
from typing import Any

from pinloom.core.hardware import (
    BalancedDrivers,
    CoreArithmetic,
    CoreKind,
    HardwareFormat,
    Origin,
    Provenance,
)
from pinloom.core.lengths import Nanometres, in_mm

_EXACT = 6  # decimal places of a millimetre: whole nanometres


def confirm(
    made: HardwareFormat, source: str, names: Collection[str] | None = None
) -> HardwareFormat:
    """The format with numbers marked as measured by the user; ``names`` = those from memory.

    ``source`` says against what: the depth-and-space chart or the gauge. Raises ValueError on a
    field that the format does not have.
    """
    chosen = set(made.from_memory() if names is None else names)
    if stray := chosen - {origin.field for origin in made.origins}:
        raise ValueError(f"{made.name} has no fields {sorted(stray)}")
    return replace(
        made,
        origins=tuple(
            Origin(field=o.field, provenance=Provenance.MEASURED, source=source)
            if o.field in chosen
            else o
            for o in made.origins
        ),
    )


def format_text(made: HardwareFormat) -> str:
    """The format as the text of a format file, lengths in millimetres, exact."""
    import tomlkit  # slow to load, and a design writes no format

    document = tomlkit.document()
    for name, value in _top(made).items():
        document[name] = value
    document["depths"] = _depths(made)
    document["drivers"] = _drivers(made)
    if made.core is not None:
        document["core"] = _core(made.core)
    if made.security_drivers:
        document["security_drivers"] = [
            {
                "label": driver.label,
                "replaces": driver.replaces,
                "chambers": [chamber + 1 for chamber in driver.chambers],
            }
            for driver in made.security_drivers
        ]
    if sizes := _dimensions(made):
        document["dimensions"] = sizes
    document["origins"] = [
        {"fields": [o.field], "provenance": o.provenance.value, "source": o.source}
        for o in made.origins
    ]
    return tomlkit.dumps(document)


def _mm(length: Nanometres) -> str:
    return in_mm(length, _EXACT)


def _top(made: HardwareFormat) -> dict[str, Any]:
    return {
        "name": made.name,
        "title": made.title,
        "unit": "mm",
        "chambers": made.chambers,
        "reading": made.reading.value,
        "stop": made.stop.value,
        "step": _mm(made.step),
        "first_cut": _mm(made.first_cut),
        "spacing": _mm(made.spacing),
        "macs": made.macs,
        "least_step": made.least_step,
        "max_masters": made.max_masters,
        "masters": [_mm(size * made.step) for size in made.master_pins],
    }


def _depths(made: HardwareFormat) -> dict[str, Any]:
    pins = [depth.bottom_pin for depth in made.depths]
    table: dict[str, Any] = {
        "numbers": [depth.number for depth in made.depths],
        "stamped": [depth.stamped for depth in made.depths],
        "roots": [_mm(depth.root) for depth in made.depths],
    }
    if None not in pins:
        table["pins"] = [_mm(pin) for pin in pins if pin is not None]
    return table


def _drivers(made: HardwareFormat) -> dict[str, Any]:
    if isinstance(made.drivers, BalancedDrivers):
        table: dict[str, Any] = {"total": made.drivers.total}
        if made.drivers.zero_length is not None:
            table["zero_length"] = _mm(made.drivers.zero_length)
        return table
    return {
        "bands": [
            {"label": band.label, "low": band.low, "high": band.high}
            | ({} if band.length is None else {"length": _mm(band.length)})
            for band in made.drivers.bands
        ]
    }


def _core(core: CoreArithmetic) -> dict[str, Any]:
    table: dict[str, Any] = {
        "kind": core.kind.value,
        "offset": core.offset,
        "stack_total": core.stack_total,
        "buildups": list(core.buildup_sizes),
    }
    if core.kind is CoreKind.LARGE:  # the small kind has no choice of chambers
        table["control_chambers"] = [chamber + 1 for chamber in core.control_chambers]
    return table


def _dimensions(made: HardwareFormat) -> dict[str, Any]:
    table: dict[str, Any] = {}
    for field in fields(made.dimensions):
        value = getattr(made.dimensions, field.name)
        if value is not None:
            table[field.name] = value if field.name == "cut_angle" else _mm(value)
    return table
