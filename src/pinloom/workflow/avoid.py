"""Other systems of the same customer: bittings that no key may equal, cylinders none may open."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pinloom.core.bitting import Bitting
from pinloom.core.findings import Finding, Place, note
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.workflow.bittings import read_cuts
from pinloom.workflow.folder import load

Stack = tuple[tuple[int, ...], ...]  # per position of the key, the levels that operate it


@dataclass(frozen=True, slots=True, kw_only=True)
class Avoided:
    """What a design must keep away from, as ``DesignRequest`` takes it."""

    bittings: tuple[Bitting, ...] = ()
    stacks: tuple[Stack, ...] = ()
    findings: tuple[Finding, ...] = ()


def read_avoided(
    paths: Sequence[Path], made: HardwareFormat, passphrase: str | None = None
) -> Avoided:
    """Job folders (their keys and cylinders) and tables of cuts (keys alone), for keys of a
    format.
    """
    bittings: set[Bitting] = set()
    stacks: set[Stack] = set()
    found: list[Finding] = []
    for path in paths:
        if not path.is_dir():
            table = read_cuts(path, made)
            found += table.findings
            bittings |= {row.levels for row in table.rows.values()}
            continue
        loaded = load(path, passphrase)
        found += loaded.findings
        if loaded.job is None:
            continue
        theirs = _stacks(loaded.job, made)
        stacks |= theirs
        if loaded.job.key_format == made:
            controls = {control.levels for control in loaded.job.controls}
            bittings |= set(loaded.job.bittings) | controls
        elif not theirs:
            found.append(_other_hardware(path, made, loaded.job))
    return Avoided(
        bittings=tuple(sorted(bittings)), stacks=tuple(sorted(stacks)), findings=tuple(found)
    )


def _stacks(job: Job, made: HardwareFormat) -> set[Stack]:
    """The cylinders of a job as keys of another format meet them; a position without pins is empty
    and passes every cut.
    """
    found: set[Stack] = set()
    for door, cylinder in enumerate(job.pinning):
        positions = chamber_positions(made, job.format_of(door))
        if positions is None:
            continue
        levels: list[tuple[int, ...]] = [()] * made.chambers
        for position, stack in zip(positions, cylinder.chambers, strict=True):
            if stack is not None:
                levels[position] = stack.cuts()
        found.add(tuple(levels))
    return found


def _other_hardware(path: Path, made: HardwareFormat, job: Job) -> Finding:
    return note(
        "job-avoid-other-hardware",
        Place(file=str(path)),
        name=job.name,
        theirs=job.key_format.name,
        ours=made.name,
    )
