"""Where each number of a format comes from.

Rules. Every field that holds a number has exactly one provenance; the roots may be split by depth
numbers (``depths.roots 1-7``), because publications often stop short of the deepest. A later entry
overrides an earlier one, so that a user's file confirms single fields of the format it is based on.
``*`` stands for every field. What nobody vouches for counts as from memory.
"""

import re
from dataclasses import fields as fields_of

from pinloom.core.findings import Finding, Place, fault
from pinloom.core.hardware import Origin, Provenance
from pinloom.hardware.raw import RawDimensions, RawFormat, RawOrigin

ROOTS = "depths.roots"
REST = "*"
_RANGE = re.compile(r"depths\.roots (\d+)-(\d+)")

_TOP = ("chambers", "step", "first_cut", "spacing", "macs", "least_step", "max_masters", "masters")
_CORE = ("offset", "stack_total", "control_chambers", "buildups")
_SIZES = tuple(one.name for one in fields_of(RawDimensions))
DRIVER_FIELDS = ("drivers.sizes", "drivers.lengths")


def number_fields(raw: RawFormat) -> tuple[str, ...]:
    """The fields of a file that hold numbers, in canonical order."""
    fields = [name for name in _TOP if getattr(raw, name) is not None]
    fields += [f"depths.{n}" for n in ("numbers", "roots", "pins") if getattr(raw.depths, n)]
    drivers = raw.drivers
    if drivers is not None:
        several = drivers.bands is not None and len(drivers.bands) > 1
        fields += ["drivers.sizes"] if several or drivers.total is not None else []
        lengths = [band.length for band in drivers.bands or ()] + [drivers.zero_length]
        fields += ["drivers.lengths"] if any(n is not None for n in lengths) else []
    if raw.core is not None:
        fields += [f"core.{name}" for name in _CORE if getattr(raw.core, name) is not None]
    fields += ["security_drivers"] if raw.security_drivers else []
    fields += [f"dimensions.{name}" for name in _SIZES if getattr(raw.dimensions, name) is not None]
    return tuple(fields)


ALL_FIELDS = frozenset(
    (*_TOP, "depths.numbers", ROOTS, "depths.pins", *DRIVER_FIELDS, "security_drivers")
    + tuple(f"core.{name}" for name in _CORE)
    + tuple(f"dimensions.{name}" for name in _SIZES)
)


def check_origins(raw: RawFormat, place: Place) -> tuple[Finding, ...]:
    """Entries that name a field no format file has."""
    known = ALL_FIELDS | {REST}
    return tuple(
        fault("hardware-origin-field", place, field=field)
        for entry in raw.origins
        for field in entry.fields
        if field not in known and not _RANGE.fullmatch(field)
    )


def origins(raw: RawFormat) -> tuple[Origin, ...]:
    """One record for each field, the roots split where the file splits them."""
    found: list[Origin] = []
    for field in number_fields(raw):
        if field == ROOTS:
            found.extend(_root_origins(raw))
        else:
            found.append(_origin(field, _last(raw.origins, field)))
    return tuple(found)


def _origin(field: str, entry: RawOrigin | None) -> Origin:
    if entry is None:
        return Origin(field=field, provenance=Provenance.MEMORY, source="no source given")
    return Origin(field=field, provenance=entry.provenance, source=entry.source)


def _last(entries: list[RawOrigin], field: str, number: int | None = None) -> RawOrigin | None:
    """The last entry that speaks of a field; ``number`` = of one root among the roots."""
    for entry in reversed(entries):
        if REST in entry.fields or field in entry.fields:
            return entry
        if number is not None and any(_covers(name, number) for name in entry.fields):
            return entry
    return None


def _covers(field: str, number: int) -> bool:
    match = _RANGE.fullmatch(field)
    return match is not None and int(match[1]) <= number <= int(match[2])


def _root_origins(raw: RawFormat) -> list[Origin]:
    runs: list[tuple[list[int], RawOrigin | None]] = []
    for number in raw.depths.numbers or ():
        entry = _last(raw.origins, ROOTS, number)
        if runs and runs[-1][1] is entry:
            runs[-1][0].append(number)
        else:
            runs.append(([number], entry))
    if len(runs) == 1:
        return [_origin(ROOTS, runs[0][1])]
    return [_origin(f"{ROOTS} {min(run)}-{max(run)}", entry) for run, entry in runs]
