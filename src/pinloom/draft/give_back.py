"""The keying back to the building's records: symbols, cylinders, who opens what. Never a cut.

COBie takes extra facts of a component as rows of the sheet Attribute (COBie 2.4; column names from
memory of NBIMS-US V3 and BS 1192-4). Facility systems that read COBie load that sheet; for the
others a plain workbook says the same. Only a proved job is given back.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from pinloom.core.chart import AccessChart, Door, KeyStanding
from pinloom.core.findings import Finding, Place, caution, fault
from pinloom.core.job import Job
from pinloom.draft.building import Building, BuildingDoor
from pinloom.draft.shape import listed
from pinloom.draft.write import Rows, workbook

_BLANK = "n/a"  # how COBie writes a blank cell
_ATTRIBUTE_HEADS = (
    *("Name", "CreatedBy", "CreatedOn", "Category", "SheetName", "RowName", "Value", "Unit"),
    *("ExtSystem", "ExtObject", "ExtIdentifier", "Description", "AllowedValues"),
)
_STANDINGS = {
    KeyStanding.ACTIVE: "in use",
    KeyStanding.RESERVED: "reserved",
    KeyStanding.RETIRED: "retired",
}


def give_back(
    job: Job,
    building: Building,
    path: str | Path,
    *,
    plain: str | Path | None = None,
    created_by: str = _BLANK,
    created_on: str = _BLANK,
) -> tuple[Finding, ...]:
    """Write the keying of a proved job: COBie Attribute rows to ``path``, the same to ``plain``.

    A cylinder belongs to the building's door of its own name, or of its opening's. Cylinders that
    belong to none are named in a caution and appear in the plain workbook only. With a fault
    among the findings nothing was written. Raises OSError when a path cannot be written.
    """
    if not job.proof.proved:
        return (fault("draft-give-back-unproved", job=job.name, faults=len(job.proof.faults)),)
    by_door, strangers = _matched(job.chart, building)
    found: list[Finding] = []
    if strangers:
        place = Place(file=Path(path).name)
        found.append(
            caution("draft-give-back-unknown", place, count=len(strangers), doors=listed(strangers))
        )
    rows: list[tuple[str, ...]] = [_ATTRIBUTE_HEADS]
    for door, cylinders in by_door:
        rows += _attributes(job.chart, door, cylinders, created_by, created_on)
    Path(path).write_bytes(workbook([("Attribute", rows)]))
    if plain is not None:
        Path(plain).write_bytes(workbook(_plain_sheets(job, by_door)))
    return tuple(found)


def _matched(
    chart: AccessChart, building: Building
) -> tuple[list[tuple[BuildingDoor, list[int]]], list[str]]:
    """The building's doors with the indices of their cylinders, and cylinders of no door."""
    doors = {door.name: door for door in building.doors}
    cylinders: dict[str, list[int]] = defaultdict(list)
    strangers: list[str] = []
    for index, door in enumerate(chart.doors):
        name = door.name if door.name in doors else door.opening
        if name in doors:
            cylinders[name].append(index)
        else:
            strangers.append(door.name)
    return [(doors[d.name], cylinders[d.name]) for d in building.doors if d.name in cylinders], (
        strangers
    )


def _lowest(chart: AccessChart, opened: Sequence[int]) -> list[str]:
    """The keys of a cylinder that are not masters of others on it."""
    under = {key.name: key.under for key in chart.keys}
    names = [chart.keys[k].name for k in opened]
    above: set[str] = set()
    for name in names:
        master = under.get(name, "")
        while master and master not in above:
            above.add(master)
            master = under.get(master, "")
    return [name for name in names if name not in above]


def _facts(chart: AccessChart, index: int) -> Iterator[tuple[str, str, str]]:
    """Name, value and description of each fact worth keeping of one cylinder."""
    door: Door = chart.doors[index]
    opened = chart.openers[index]
    yield "KeySymbols", " ".join(_lowest(chart, opened)), "lowest keys of the cylinder"
    everyone = ", ".join(chart.keys[k].name for k in opened)
    yield "OpenedByKeys", everyone, "every key that opens the cylinder"
    yield "CylinderCount", str(door.count), "identical cylinders"
    for name, value, text in (
        ("CylinderType", door.cylinder, "type as ordered"),
        ("CylinderFormat", door.hardware, "hardware format of the cylinder"),
        ("Keyway", door.keyway, "keyway of the cylinder"),
        ("CoreGroup", door.core_group, "interchangeable cores with one control key"),
    ):
        if value:
            yield name, value, text


def _attributes(
    chart: AccessChart,
    door: BuildingDoor,
    cylinders: Sequence[int],
    created_by: str,
    created_on: str,
) -> Iterator[tuple[str, ...]]:
    for index in cylinders:
        # An attribute's name is unique within its component, so further cylinders add their own.
        own = chart.doors[index].name
        suffix = "" if len(cylinders) == 1 or own == door.name else f" ({own})"
        for name, value, text in _facts(chart, index):
            yield (
                *(f"{name}{suffix}", created_by, created_on, _BLANK, "Component", door.written),
                *(value, _BLANK, "pinloom", "Keying", _BLANK, text, _BLANK),
            )


def _plain_sheets(
    job: Job, by_door: Sequence[tuple[BuildingDoor, Sequence[int]]]
) -> list[tuple[str, Rows]]:
    chart = job.chart
    sides: Mapping[str, BuildingDoor] = {
        chart.doors[index].name: door for door, indices in by_door for index in indices
    }
    heads = ("cylinder", "building's door", "rooms", "lowest keys", "every key", "identical")
    doors: list[tuple[str, ...]] = [(*heads, "type", "keyway", "core group")]
    for index, one in enumerate(chart.doors):
        known = sides.get(one.name)
        doors.append(
            (
                *(
                    one.name,
                    known.written if known else "",
                    ", ".join(known.sides) if known else "",
                ),
                *(" ".join(_lowest(chart, chart.openers[index])), _names(chart, index)),
                *(str(one.count), one.cylinder, one.keyway, one.core_group),
            )
        )
    opened = chart.doors_of()
    keys = [("key", "under", "standing", "copies", "doors", "opens")]
    for key, indices in zip(chart.keys, opened, strict=True):
        copies = "" if key.copies is None else str(key.copies)
        names = ", ".join(chart.doors[d].name for d in indices)
        standing = _STANDINGS[key.standing]
        keys.append((key.name, key.under, standing, copies, str(len(indices)), names))
    about = [("about", ""), ("job", job.name), ("revision", str(job.revision))]
    about.append(("proved", f"{job.proof.pairs} pairs of key and cylinder"))
    return [("cylinders", doors), ("keys", keys), ("about", about)]


def _names(chart: AccessChart, index: int) -> str:
    return ", ".join(chart.keys[k].name for k in chart.openers[index])
