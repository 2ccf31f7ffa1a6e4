"""Format files to records: the shipped ones by name, a user's own by path, both in the same way.

A file may be ``based_on`` a shipped format, or on another file beside it: its values replace those
of the base, and its origins speak last. That is how a locksmith confirms a number from memory
against the depth-and-space chart of the hardware in hand: a file of four lines.
"""

from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from pinloom.core.findings import Finding, Place, fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.names import natural
from pinloom.hardware.build import build
from pinloom.hardware.cautions import cautions
from pinloom.hardware.checks import check
from pinloom.hardware.origins import ALL_FIELDS, DRIVER_FIELDS, check_origins
from pinloom.hardware.raw import RawTable, parse_toml, read_tables

_SUFFIX = ".toml"
_MOST_BASES = 4  # a chain of files longer than this is a circle or a mistake


@dataclass(frozen=True, slots=True, kw_only=True)
class FormatRead:
    """A format, or None with at least one fault. Cautions may come with a format."""

    format: HardwareFormat | None
    findings: tuple[Finding, ...]


def shipped() -> tuple[str, ...]:
    """Names of the formats that come with the program, in natural order."""
    names = (entry.name for entry in files("pinloom.hardware").joinpath("formats").iterdir())
    found = (name.removesuffix(_SUFFIX) for name in names if name.endswith(_SUFFIX))
    return tuple(sorted(found, key=natural))


def load_format(name_or_path: str | Path) -> FormatRead:
    """A shipped format by its name, or a user's own file by its path. Never raises on bad input."""
    text, place, findings = _text_of(str(name_or_path), None)
    if text is None:
        return FormatRead(format=None, findings=findings)
    folder = None if str(name_or_path) in shipped() else Path(name_or_path).parent
    return _read(text, place, folder)


def read_format(text: str, place: Place | None = None) -> FormatRead:
    """A format from the text of a file, e.g. one kept inside a job. Bases are shipped formats."""
    return _read(text, place or Place(), None)


def _read(text: str, place: Place, folder: Path | None) -> FormatRead:
    tables, findings = _tables(text, place, folder, _MOST_BASES)
    if tables is None:
        return FormatRead(format=None, findings=findings)
    read = read_tables(tables, place)
    found = read.findings + check(read.raw, place) + check_origins(read.raw, place)
    if found:
        return FormatRead(format=None, findings=found)
    made = build(read.raw)
    return FormatRead(format=made, findings=cautions(made, place))


def _text_of(
    name_or_path: str, folder: Path | None
) -> tuple[str | None, Place, tuple[Finding, ...]]:
    names = shipped()
    if name_or_path in names:
        entry = files("pinloom.hardware").joinpath("formats", name_or_path + _SUFFIX)
        return entry.read_text("utf-8"), Place(file=name_or_path + _SUFFIX), ()
    path = (folder or Path()) / name_or_path
    place = Place(file=path.name)
    try:
        return path.read_text("utf-8"), place, ()
    except UnicodeDecodeError as error:
        return None, place, (fault("hardware-not-utf8", place, reason=error.reason),)
    except OSError:
        known = ", ".join(names)
        found = fault("hardware-unknown-format", name=name_or_path, known=known)
        return None, place, (found,)


def _tables(
    text: str, place: Place, folder: Path | None, bases_left: int
) -> tuple[RawTable | None, tuple[Finding, ...]]:
    tables, findings = parse_toml(text, place)
    if tables is None or "based_on" not in tables:
        return tables, findings
    if bases_left == 0:
        return None, (fault("hardware-base-circle", place, name=tables["based_on"]),)
    base_name = str(tables["based_on"])
    base_text, base_place, findings = _text_of(base_name, folder)
    if base_text is None:
        return None, findings
    base, findings = _tables(base_text, base_place, folder, bases_left - 1)
    return (None if base is None else _overlay(base, tables)), findings


def _overlay(base: RawTable, own: RawTable) -> RawTable:
    """The base with the file's own values put over it. Values that change lose their source."""
    merged = dict(base)
    changed: list[str] = []
    for field, value in own.items():
        below = base.get(field)
        if field in ("dimensions", "depths", "core") and isinstance(value, dict):
            merged[field] = {**(below if isinstance(below, dict) else {}), **value}
            changed += [f"{field}.{name}" for name in value]
        elif field == "drivers":
            merged[field] = value
            changed += DRIVER_FIELDS
        elif field != "origins":
            merged[field] = value
            changed.append(field)
    merged["origins"] = _origins(base, own, changed)
    return merged


def _origins(base: RawTable, own: RawTable, changed: list[str]) -> object:
    below, above = base.get("origins", []), own.get("origins", [])
    if not isinstance(below, list) or not isinstance(above, list):
        return above
    lost = [field for field in changed if field in ALL_FIELDS]
    unsaid = {"fields": lost, "provenance": "memory", "source": "no source given"}
    return [*below, unsaid, *above]
