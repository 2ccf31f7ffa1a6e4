"""The secret half of a revision: cuts of keys, control keys, pins of cylinders.

It is sealed as one body a revision, bound to the ledger's event that brought it in, and padded, so
that neither place nor length of anything shows. What stays in the clear is the public half, built
by ``enter`` field by field: a field must be named there to get out of here.

Cuts are depth numbers in the format's reading order, as in ``bittings.csv``.
"""

from dataclasses import dataclass, field
from typing import TypeVar

from pydantic import ConfigDict, TypeAdapter

from pinloom.core.findings import Finding, fault
from pinloom.core.job import Job
from pinloom.core.stacks import PinnedCylinder
from pinloom.ledger.rows import RevisionRow
from pinloom.ledger.view import Reading
from pinloom.vault import DataKey

V = TypeVar("V")


@dataclass(frozen=True, slots=True, kw_only=True)
class SecretStack:
    """One chamber; None for ``bottom`` = unpinned. ``bottom`` = number of the shallowest cut."""

    bottom: int | None
    masters: tuple[int, ...] = ()
    buildup: int | None = None
    driver: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Secrets:
    """Everything of a revision that nobody may read by accident. Its repr shows none of it.

    ``cuts`` and ``pins`` by name; ``past_cuts[name][n-1]`` = combination n of that key symbol so
    far, ``past_pins`` likewise for doors.
    """

    __pydantic_config__ = ConfigDict(extra="forbid")

    cuts: dict[str, tuple[int, ...]] = field(repr=False)
    stamped: dict[str, str] = field(repr=False)
    controls: dict[str, tuple[int, ...]] = field(repr=False)
    pins: dict[str, tuple[SecretStack, ...]] = field(repr=False)
    past_cuts: dict[str, list[tuple[int, ...]]] = field(repr=False)
    past_pins: dict[str, list[tuple[SecretStack, ...]]] = field(repr=False)
    fingerprint: str = field(repr=False)

    def combination(self, name: str) -> int:
        """The number of a key symbol's cuts among those it has had."""
        return self.past_cuts[name].index(self.cuts[name]) + 1

    def pinning(self, door: str) -> int:
        """The number of a door's pins among those it has had."""
        return self.past_pins[door].index(self.pins[door]) + 1


_ADAPTER = TypeAdapter(Secrets)


def of_job(job: Job, before: Secrets | None) -> Secrets:
    """The secret half of a job; ``before`` = that of the revision it follows."""
    keys = job.key_format
    cuts = {
        key.name: tuple(keys.number_of(level) for level in levels)
        for key, levels in zip(job.chart.keys, job.bittings, strict=True)
    }
    stamped = {
        key.name: keys.stamp(levels)
        for key, levels in zip(job.chart.keys, job.bittings, strict=True)
    }
    pins = {
        door.name: _stacks(job, index, cylinder)
        for index, (door, cylinder) in enumerate(zip(job.chart.doors, job.pinning, strict=True))
    }
    return Secrets(
        cuts=cuts,
        stamped=stamped,
        controls={
            control.group: tuple(keys.number_of(level) for level in control.levels)
            for control in job.controls
        },
        pins=pins,
        past_cuts=_with_past(before.past_cuts if before else {}, cuts),
        past_pins=_with_past(before.past_pins if before else {}, pins),
        fingerprint=job.proof.fingerprint,
    )


def _stacks(job: Job, door: int, cylinder: PinnedCylinder) -> tuple[SecretStack, ...]:
    made = job.format_of(door)
    return tuple(
        SecretStack(bottom=None)
        if stack is None
        else SecretStack(
            bottom=made.number_of(stack.bottom),
            masters=stack.masters,
            buildup=stack.buildup,
            driver=stack.driver,
        )
        for stack in cylinder.chambers
    )


def _with_past(past: dict[str, list[V]], now: dict[str, V]) -> dict[str, list[V]]:
    known = {name: list(values) for name, values in past.items()}
    for name, value in now.items():
        had = known.setdefault(name, [])
        if value not in had:
            had.append(value)
    return known


def pack(secrets: Secrets) -> bytes:
    """The bytes to seal: equal secrets give equal bytes."""
    return _ADAPTER.dump_json(secrets)


def seal(key: DataKey, system: int, revision: int, secrets: Secrets) -> bytes:
    """The sealed body of a revision."""
    return key.seal(pack(secrets), _context(system, revision))


def _context(system: int, revision: int) -> str:
    return f"revision {system} {revision}"


def reveal(view: Reading, key: DataKey, row: RevisionRow) -> Secrets | Finding:
    """The secret half of a revision, or why it cannot be had."""
    body = view.sealed(row.sealed)
    plain = key.open(body, _context(row.system, row.number)) if body is not None else None
    try:
        return _ADAPTER.validate_json(plain or b"")
    except ValueError:  # its text would show what it could not read
        return fault("ledger-seal-damaged", revision=row.number)
