"""An audit with its pictures, in memory, for a page. Its cuts stay inside: a page shows none."""

from dataclasses import dataclass

from pinloom.audit import (
    Audit,
    Bin,
    Countermeasure,
    DoorCount,
    DoorExposure,
    audit,
    census_svg,
    exposure_svg,
    margin_map,
    margins_svg,
)
from pinloom.core.job import Job
from pinloom.workflow.audit import bins_of

__all__ = ["Audited", "Countermeasure", "DoorLine", "audited"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorLine:
    """One door with everything the audit says of it."""

    count: DoorCount
    exposure: DoorExposure | None

    @property
    def incidental(self) -> int:
        """Combinations that open it and are no key of the job."""
        return self.count.tolerant - self.count.issued


@dataclass(frozen=True, slots=True, kw_only=True)
class Audited:
    """``pictures`` = name -> SVG; ``doors`` with most incidental combinations first;
    ``through`` = key at stake -> the doors where lesser keys are; ``lowers`` = countermeasure ->
    doors that it would lower.
    """

    audit: Audit
    bins: tuple[Bin, ...]
    pictures: tuple[tuple[str, str], ...]
    doors: tuple[DoorLine, ...]
    through: tuple[tuple[str, tuple[str, ...]], ...]
    lowers: tuple[tuple[Countermeasure, tuple[str, ...]], ...]


def audited(job: Job) -> Audited:
    """Audit a job and draw it."""
    made = audit(job)
    pictures = {
        "census.svg": census_svg(made),
        "exposure.svg": exposure_svg(made),
        "margins.svg": margins_svg(made.name, margin_map(job, made)),
    }
    exposed = {one.door: one for one in made.exposure}
    doors = [DoorLine(count=one, exposure=exposed.get(one.door)) for one in made.doors]
    return Audited(
        audit=made,
        bins=bins_of(made),
        pictures=tuple((name, text) for name, text in pictures.items() if text is not None),
        doors=tuple(sorted(doors, key=lambda one: (-one.incidental, -one.count.tolerant))),
        through=tuple(
            (one.key, tuple(e.door for e in made.exposure if e.at_stake == one.key))
            for one in made.masters
        ),
        lowers=tuple(
            (way, doors_of)
            for way in Countermeasure
            if (doors_of := tuple(e.door for e in made.exposure if way in e.lowers))
        ),
    )
