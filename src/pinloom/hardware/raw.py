"""Format files as written: TOML text to typed values, with every fault of type at once.

Rules. Every field is optional here, so that a file with one bad value is still read as far as it
goes and the sanity rules of ``checks`` see the rest. The file is read twice: faults of the first
reading name their fields, those fields are dropped, and the second reading cannot fail.

Lengths may be written as numbers or as texts; they are taken by their decimal text, never through
binary floating point, and become whole nanometres in the file's own unit.
"""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, ValidationInfo
from pydantic_core import PydanticCustomError

from pinloom.core.findings import Finding, Place, fault
from pinloom.core.hardware import Provenance
from pinloom.core.lengths import InexactLengthError, Nanometres, from_inch, from_mm

Unit = Literal["inch", "mm"]
ONE_DRIVER = "standard"  # the label where a format names no driver of its own
_READERS = {"inch": from_inch, "mm": from_mm}


def _to_length(value: object, info: ValidationInfo) -> Nanometres:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise PydanticCustomError("length", "it is not a length")
    try:
        return _READERS[info.context or "inch"](str(value))
    except InexactLengthError as error:
        raise PydanticCustomError("length", "{why}", {"why": str(error)}) from error


def _to_provenance(value: object) -> object:
    return Provenance(value) if value in {p.value for p in Provenance} else value


Length = Annotated[Nanometres, BeforeValidator(_to_length)]
Origin = Annotated[Provenance, BeforeValidator(_to_provenance)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class RawDepths(_Table):
    """Depths, shallowest first; the lists run side by side."""

    numbers: list[int] | None = None
    stamped: list[str] | None = None
    roots: list[Length] | None = None
    pins: list[Length] | None = None


class RawBand(_Table):
    """One driver size and the stack totals it serves."""

    label: str
    low: int
    high: int
    length: Length | None = None


class RawDrivers(_Table):
    """Either bands by stack total or one balanced total."""

    bands: list[RawBand] | None = None
    total: int | None = None
    zero_length: Length | None = None


class RawCore(_Table):
    """Second shear line. Chambers count from 1 in reading order."""

    kind: Literal["small format", "large format"] | None = None
    offset: int | None = None
    stack_total: int | None = None
    control_chambers: list[int] | None = None
    buildups: list[int] | None = None


class RawSecurityDriver(_Table):
    """A special driver. Chambers count from 1."""

    label: str
    replaces: str
    chambers: list[int]


class RawDimensions(_Table):
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


class RawOrigin(_Table):
    """Where the numbers of some fields come from."""

    fields: list[str]
    provenance: Origin
    source: str = ""


class RawFormat(_Table):
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
    security_drivers: list[RawSecurityDriver] = []
    dimensions: RawDimensions = RawDimensions()
    origins: list[RawOrigin] = []


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
    unit = tables.get("unit")
    context = unit if unit in _READERS else "inch"
    try:
        return RawRead(raw=RawFormat.model_validate(tables, context=context), findings=())
    except ValidationError as error:
        faults = error.errors(include_url=False)
    findings = tuple(
        fault(
            "hardware-unknown-field"
            if found["type"] == "extra_forbidden"
            else "hardware-bad-value",
            place,
            field=field_name(found["loc"]),
            value=shown(found["input"]),
            reason=found["msg"],
        )
        for found in faults
    )
    pruned = _without(tables, [found["loc"] for found in faults])
    return RawRead(raw=RawFormat.model_validate(pruned, context=context), findings=findings)


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
