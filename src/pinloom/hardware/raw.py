"""Format files as written: TOML text to typed values, with every fault of type at once.

Rules. Every field is optional here, so that a file with one bad value is still read as far as it
goes and the sanity rules of ``checks`` see the rest. A file without faults is read in one pass;
with any, the strict models of ``rawfaults`` name them all, their fields are dropped, and a second
pass cannot fail. The models' library is slow to load, and most files are sound.

Lengths may be written as numbers or as texts; they are taken by their decimal text, never through
binary floating point, and become whole nanometres in the file's own unit.
"""

import tomllib
from collections.abc import Callable, Iterable
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from decimal import Decimal
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from pinloom.core.findings import Finding, Place, fault
from pinloom.core.hardware import Provenance
from pinloom.core.lengths import InexactLengthError, Nanometres, from_inch, from_mm

T = TypeVar("T")
Unit = Literal["inch", "mm"]
ONE_DRIVER = "standard"  # the label where a format names no driver of its own
READERS = {"inch": from_inch, "mm": from_mm}
LENGTH = "length"
Length = Annotated[Nanometres, LENGTH]


@dataclass(frozen=True, slots=True, kw_only=True)
class RawDepths:
    """Depths, shallowest first; the lists run side by side."""

    numbers: list[int] | None = None
    stamped: list[str] | None = None
    roots: list[Length] | None = None
    pins: list[Length] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RawBand:
    """One driver size and the stack totals it serves."""

    label: str
    low: int
    high: int
    length: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RawDrivers:
    """Either bands by stack total or one balanced total."""

    bands: list[RawBand] | None = None
    total: int | None = None
    zero_length: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RawCore:
    """Second shear line. Chambers count from 1 in reading order."""

    kind: Literal["small format", "large format"] | None = None
    offset: int | None = None
    stack_total: int | None = None
    control_chambers: list[int] | None = None
    buildups: list[int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RawSecurityDriver:
    """A special driver. Chambers count from 1."""

    label: str
    replaces: str
    chambers: list[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class RawDimensions:
    """Sizes that some formats give."""

    pin_diameter: Length | None = None
    plug_diameter: Length | None = None
    shell_height: Length | None = None
    blade_height: Length | None = None
    chamber_depth: Length | None = None
    spring_solid: Length | None = None
    blank_length: Length | None = None
    cut_angle: int | None = None
    cut_flat: Length | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RawOrigin:
    """Where the numbers of some fields come from."""

    fields: list[str]
    provenance: Provenance
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RawFormat:
    """A whole format file."""

    name: str | None = None
    title: str | None = None
    based_on: str | None = None
    unit: Unit | None = None
    chambers: int | None = None
    reading: Literal["bow to tip", "tip to bow"] | None = None
    stop: Literal["shoulder", "tip"] | None = None
    step: Length | None = None
    first_cut: Length | None = None
    spacing: Length | None = None
    macs: int | None = None
    least_step: int | None = None
    max_masters: int | None = None
    masters: list[Length] | None = None
    depths: RawDepths = RawDepths()
    drivers: RawDrivers | None = None
    core: RawCore | None = None
    security_drivers: list[RawSecurityDriver] = field(default_factory=list)
    dimensions: RawDimensions = RawDimensions()
    origins: list[RawOrigin] = field(default_factory=list)


RawTable = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class RawRead:
    """What could be read, and what could not."""

    raw: RawFormat
    findings: tuple[Finding, ...]


def parse_toml(text: str, place: Place) -> tuple[RawTable | None, tuple[Finding, ...]]:
    """The tables of a TOML text; decimal numbers keep their digits."""
    try:
        return tomllib.loads(text, parse_float=Decimal), ()
    except tomllib.TOMLDecodeError as error:
        return None, (fault("hardware-not-toml", place, reason=error),)


def read_tables(tables: RawTable, place: Place) -> RawRead:
    """Typed values of the tables; values of the wrong type are dropped with a finding each."""
    unit = unit_of(tables)
    try:
        return RawRead(raw=_record(RawFormat, tables, unit), findings=())
    except _UnreadableError:
        from pinloom.hardware.rawfaults import faults_of

        faults = faults_of(tables)
    findings = tuple(
        fault(
            "hardware-unknown-field" if found.unknown else "hardware-bad-value",
            place,
            field=field_name(found.where),
            value=shown(found.value),
            reason=found.reason,
        )
        for found in faults
    )
    pruned = _without(tables, [found.where for found in faults])
    return RawRead(raw=_record(RawFormat, pruned, unit_of(pruned)), findings=findings)


def unit_of(tables: RawTable) -> str:
    """The unit of a file's lengths, also of one that gives none or a bad one."""
    unit = tables.get("unit")
    return unit if isinstance(unit, str) and unit in READERS else "inch"


class _UnreadableError(Exception):
    """Some value is not of its field's type; which one is for ``rawfaults`` to say."""


def _record(kind: Callable[..., T], value: object, unit: str) -> T:
    known = _hints(kind)
    if not isinstance(value, dict) or not value.keys() <= known.keys():
        raise _UnreadableError
    if any(name not in value for name in _needed(kind)):
        raise _UnreadableError
    return kind(**{name: _read(known[name], one, unit) for name, one in value.items()})


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind, include_extras=True)


@cache
def _needed(kind: Any) -> tuple[str, ...]:
    return tuple(
        one.name
        for one in fields(kind)
        if one.default is MISSING and one.default_factory is MISSING
    )


def _read(hint: Any, value: object, unit: str) -> Any:
    """A value as the type of its field; nothing is converted but lengths and provenance."""
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):  # X | None
        return None if value is None else _read(inner[0], value, unit)
    if origin is list and isinstance(value, list):
        return [_read(inner[0], one, unit) for one in value]
    if origin is Literal and isinstance(value, str) and value in inner:
        return value
    if origin is Annotated:
        return _length(value, unit)
    if hint is Provenance and value in [one.value for one in Provenance]:
        return Provenance(value)
    if is_dataclass(hint) and isinstance(hint, type):
        return _record(hint, value, unit)
    if hint in (int, str) and type(value) is hint:
        return value
    raise _UnreadableError


def _length(value: object, unit: str) -> Nanometres:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise _UnreadableError
    try:
        return READERS[unit](str(value))
    except InexactLengthError as error:
        raise _UnreadableError from error


def field_name(loc: Iterable[int | str]) -> str:
    """A field as a person would point at it: ``depths.roots, item 3``."""
    words = [part for part in loc if isinstance(part, str)]
    items = [part for part in loc if isinstance(part, int)]
    return ".".join(words) + "".join(f", item {item + 1}" for item in items)


def shown(value: object) -> str:
    """A value as written in the file, shortened."""
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _without(tables: RawTable, locations: list[tuple[int | str, ...]]) -> RawTable:
    """The tables without the fields at fault. A list with a bad item goes as a whole, because its
    items stand side by side with those of other lists.
    """
    pruned = {key: dict(v) if isinstance(v, dict) else v for key, v in tables.items()}
    for location in locations:
        head, rest = location[0], location[1:]
        inner = pruned.get(str(head))
        if rest and isinstance(rest[0], str) and isinstance(inner, dict):
            inner.pop(rest[0], None)
        else:
            pruned.pop(str(head), None)
    return pruned
