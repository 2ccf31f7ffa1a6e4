"""What a design or a pinning starts from: the chart, the formats of its cylinders, given cuts.

Everything is read before anything is computed, so that a person sees the faults of all inputs at
once. What a chart names under ``hardware`` (a shipped format or a file) becomes the format's own
name, by which a job knows it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pinloom.chart import as_text, read_chart
from pinloom.core.bitting import PartialBitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.findings import Finding, fault
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.hardware import load_format


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartSource:
    """Where a chart is and how to read it; see ``pinloom.chart.read_chart``."""

    path: Path
    keys: Path | None = None
    sheet: str | None = None
    symbols: bool = False
    keyways: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What could be read; a None comes with at least one fault.

    ``formats[0]`` is the job's own; ``cylinder_formats[d]`` belongs to ``chart.doors[d]``;
    ``fixed[k]`` = given cuts of ``chart.keys[k]``; ``controls`` = given control cuts by core group.
    """

    chart: AccessChart | None
    formats: tuple[HardwareFormat, ...]
    cylinder_formats: tuple[HardwareFormat, ...]
    fixed: tuple[PartialBitting | None, ...]
    controls: tuple[tuple[str, PartialBitting], ...]
    findings: tuple[Finding, ...]

    @property
    def key_format(self) -> HardwareFormat | None:
        """The format that keys are cut to."""
        return self.formats[0] if self.formats else None


def read_inputs(
    source: ChartSource, hardware: str | HardwareFormat, controls: Sequence[str] = ()
) -> Inputs:
    """Read chart and formats. ``hardware`` = the format of a job at hand, or what to load;
    ``controls`` = control cuts as written, with ``GROUP:`` in front where there are groups.
    """
    read = read_chart(
        source.path,
        source.keys,
        sheet=source.sheet,
        symbols=source.symbols,
        keyways=source.keyways,
    )
    found = list(read.findings)
    if isinstance(hardware, str):
        own = load_format(hardware)
        found += own.findings
        key_format = own.format
    else:
        key_format = hardware
    chart = read.chart
    # What a faulty chart says of hardware and cuts is looked at too: all its faults at once.
    formats: dict[str, HardwareFormat] = {}
    given: tuple[PartialBitting | None, ...] = ()
    if key_format is not None:
        doors, keys = (chart.doors, chart.keys) if chart else (read.doors, read.keys)
        formats = _door_formats(doors, key_format, source.path.parent, found)
        given = _given(keys, key_format, found)
    if chart is not None:
        chart = _with_format_names(chart, formats)
    return Inputs(
        chart=chart,
        formats=_distinct(key_format, formats.values()),
        cylinder_formats=_by_door(read.chart, key_format, formats),
        fixed=given if chart is not None else (),
        controls=tuple(_controls(controls, key_format, found)),
        findings=tuple(found),
    )


def _door_formats(
    doors: Sequence[Door], key_format: HardwareFormat, folder: Path, found: list[Finding]
) -> dict[str, HardwareFormat]:
    """Name as written in the chart -> format, for those that load and take the job's keys."""
    formats: dict[str, HardwareFormat] = {}
    by_name = {key_format.name: key_format}
    first: dict[str, Door] = {}
    for door in doors:
        first.setdefault(door.hardware, door)
    for written, door in first.items():
        if not written or written == key_format.name:
            formats[written] = key_format
            continue
        beside = folder / written
        read = load_format(beside if beside.is_file() else written)
        found += read.findings
        if read.format is None:
            continue
        if by_name.setdefault(read.format.name, read.format) != read.format:
            found.append(fault("job-format-clash", name=read.format.name, door=door.name))
        if chamber_positions(key_format, read.format) is None:
            found.append(
                fault(
                    "job-foreign-hardware",
                    door=door.name,
                    cylinder=read.format.name,
                    keys=key_format.name,
                )
            )
        formats[written] = read.format
    return formats


def _with_format_names(chart: AccessChart, formats: dict[str, HardwareFormat]) -> AccessChart:
    renamed = {w: made.name for w, made in formats.items() if w and made.name != w}
    if not renamed:
        return chart
    doors = (
        replace(door, hardware=renamed[door.hardware]) if door.hardware in renamed else door
        for door in chart.doors
    )
    return replace(chart, doors=tuple(doors))


def _distinct(
    key_format: HardwareFormat | None, others: Iterable[HardwareFormat]
) -> tuple[HardwareFormat, ...]:
    """The job's own format, then the others by name."""
    if key_format is None:
        return ()
    rest = {made.name: made for made in others if made.name != key_format.name}
    return (key_format, *(rest[name] for name in sorted(rest)))


def _by_door(
    chart: AccessChart | None, key_format: HardwareFormat | None, formats: dict[str, HardwareFormat]
) -> tuple[HardwareFormat, ...]:
    if chart is None or key_format is None:
        return ()
    return tuple(formats.get(door.hardware, key_format) for door in chart.doors)


def _given(
    keys: Sequence[Key], key_format: HardwareFormat, found: list[Finding]
) -> tuple[PartialBitting | None, ...]:
    fixed: list[PartialBitting | None] = []
    for key in keys:
        levels = key_format.read_cuts(key.given) if key.given else None
        if key.given and levels is None:
            found.append(_cuts_fault(f"key {key.name}", key_format))
        fixed.append(levels)
    return tuple(fixed)


def _controls(
    controls: Sequence[str], key_format: HardwareFormat | None, found: list[Finding]
) -> Iterable[tuple[str, PartialBitting]]:
    if key_format is None:
        return
    seen: set[str] = set()
    for text in controls:
        group, _, cuts = text.rpartition(":")
        group = group.strip()
        levels = key_format.read_cuts(cuts)
        name = f"control key of group {group}" if group else "control key"
        if key_format.core is None:
            found.append(fault("job-control-without-core", format=key_format.name))
        elif group in seen:
            found.append(fault("job-control-twice", key=name))
        elif levels is None:
            found.append(_cuts_fault(name, key_format))
        else:
            yield group, levels
        seen.add(group)


def _cuts_fault(key: str, made: HardwareFormat) -> Finding:
    """A fault that names the key and never its cuts."""
    return fault(
        "job-given-cuts",
        key=key,
        chambers=made.chambers,
        depths=depths_of(made),
        format=made.name,
    )


def depths_of(made: HardwareFormat) -> str:
    """The depth numbers of a format in words: ``0 to 9``."""
    return f"{made.depths[0].number} to {made.depths[-1].number}"


def chart_text(chart: AccessChart, width: int, most: int | None = None) -> str:
    """The chart in lines for a person to check, shortened when it has more than ``most`` doors."""
    return as_text(chart, width, most)
