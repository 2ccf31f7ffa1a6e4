"""Every key in every cylinder, compared with the chart by the two rules of opening.

The rules (a promise to users):
- a key that SHALL open a cylinder is at distance 0 in every chamber;
- a key that SHALL NOT is, in at least one chamber, at the cylinder's least step or more. One that
  is nearer than that in every chamber counts as opening: wear and clearance may let it.
Keys without an active standing (reserved, retired) shall open nothing: they may exist somewhere. A
key whose blank cannot enter the keyway opens nothing, whatever its cuts.

Theory of operation. Control keys are appended to the keys as further bits that shall open nothing.
Cylinders are taken format by format in blocks small enough for the processor's cache; per block the
rows of the chambers are ANDed (see ``rows``), and the result compared with the packed chart.
An interchangeable core is compared a second time, towards its control line.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import ControlKey, FaultKind, Margin, ProofReport
from pinloom.core.stacks import PinnedCylinder
from pinloom.proof.bad import Inspector
from pinloom.proof.faults import FaultList
from pinloom.proof.lift import Fit, fit
from pinloom.proof.margins import Tightest
from pinloom.proof.prints import fingerprint_of
from pinloom.proof.rows import Chamber, Words, chamber_rows, has, pack, with_bits

BLOCK = 256  # cylinders at once: 256 rows of 20,000 keys are 0.6 MB and stay in the cache


def prove(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey],
    pinning: Sequence[PinnedCylinder],
) -> ProofReport:
    """Try every key of the chart in every cylinder; all faults at once, on every door.

    ``cylinder_formats[d]`` and ``pinning[d]`` belong to ``chart.doors[d]``, ``bittings[k]`` to
    ``chart.keys[k]``. Raises ValueError when these do not match in number or a bitting is none of
    the key format; pins that cannot be are faults, not errors.
    """
    _check_shapes(chart, key_format, cylinder_formats, bittings, controls, pinning)
    subject = _Subject(
        chart=chart,
        bittings=(*bittings, *(control.levels for control in controls)),
        controls=tuple(controls),
        active=_active_keys(chart, len(controls)),
        issued=pack(np.arange(len(bittings) + len(controls)) < len(bittings)),
    )
    faults = FaultList(chart, controls)
    tightest = Tightest()
    for cylinder_format, doors in _by_format(cylinder_formats):
        sound = _sound_doors(subject, cylinder_format, doors, pinning, faults)
        if sound:
            _prove_format(
                subject, fit(key_format, cylinder_format), sound, pinning, faults, tightest
            )
    return ProofReport(
        faults=faults.in_order(),
        pairs=len(subject.bittings) * len(chart.doors),
        tightest=_named(tightest, chart),
        fingerprint=fingerprint_of(
            chart, key_format, cylinder_formats, bittings, controls, pinning
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Subject:
    """What is tried: the keys of the chart, then the control keys."""

    chart: AccessChart
    bittings: tuple[Bitting, ...]
    controls: tuple[ControlKey, ...]
    active: Words  # the bits of keys whose marks in the chart count
    issued: Words  # the bits of keys, without the control keys


def _check_shapes(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey],
    pinning: Sequence[PinnedCylinder],
) -> None:
    if len(bittings) != len(chart.keys):
        raise ValueError(f"{len(bittings)} bittings for {len(chart.keys)} keys")
    if not len(pinning) == len(cylinder_formats) == len(chart.doors):
        raise ValueError(
            f"{len(pinning)} pinned cylinders and {len(cylinder_formats)} formats"
            f" for {len(chart.doors)} doors"
        )
    for levels in (*bittings, *(control.levels for control in controls)):
        if len(levels) != key_format.chambers or not all(
            0 <= level < key_format.levels for level in levels
        ):
            raise ValueError(f"{levels} is no bitting of {key_format.name}")


def _active_keys(chart: AccessChart, controls: int) -> Words:
    active = [key.standing is KeyStanding.ACTIVE for key in chart.keys]
    return pack(np.array(active + [False] * controls, dtype=np.bool_))


def _by_format(
    formats: Sequence[HardwareFormat],
) -> Iterator[tuple[HardwareFormat, list[int]]]:
    """Doors by format, both in order of first appearance. Equal formats are one."""
    seen: list[tuple[HardwareFormat, list[int]]] = []
    by_id: dict[int, list[int]] = {}
    for door, one in enumerate(formats):
        doors = by_id.get(id(one))
        if doors is None:
            doors = next((known for other, known in seen if other == one), None)
            if doors is None:
                doors = []
                seen.append((one, doors))
            by_id[id(one)] = doors
        doors.append(door)
    return iter(seen)


def _sound_doors(
    subject: _Subject,
    made: HardwareFormat,
    doors: Sequence[int],
    pinning: Sequence[PinnedCylinder],
    faults: FaultList,
) -> list[int]:
    """The doors whose stacks have a height in every chamber; what is wrong with any is noted."""
    sound = []
    inspector = Inspector(made)
    for door in doors:
        for reason in inspector.reasons(subject.chart.doors[door].name, pinning[door]):
            faults.bad_stack(door, reason)
        if len(pinning[door].chambers) == made.chambers and _has_heights(pinning[door], made):
            sound.append(door)
    return sound


def _has_heights(cylinder: PinnedCylinder, made: HardwareFormat) -> bool:
    unlisted = any(depth.bottom_pin is not None for depth in made.depths)
    return all(
        stack is None
        or (
            0 <= stack.bottom < made.levels
            and not (unlisted and made.depths[stack.bottom].bottom_pin is None)
        )
        for stack in cylinder.chambers
    )


def _prove_format(
    subject: _Subject,
    fitted: Fit,
    doors: Sequence[int],
    pinning: Sequence[PinnedCylinder],
    faults: FaultList,
    tightest: Tightest,
) -> None:
    """Compare all cylinders of one format, block by block."""
    cylinders = [pinning[door] for door in doors]
    lines = [
        chamber_rows(fitted, fitted.line, chamber, cylinders, subject.bittings)
        for chamber in range(fitted.cylinder.chambers)
    ]
    control_lines = _control_lines(subject, fitted, lines, cylinders)
    entering = _Entering(subject, fitted)
    for start in range(0, len(doors), BLOCK):
        span = slice(start, min(start + BLOCK, len(doors)))
        block = doors[span]
        enters = entering.rows(block)
        shall = _expected(subject, block)
        on, near = _verdict(lines, span, enters)
        _compare_operating(subject, faults, block, lines, span, (shall, on, near, enters))
        refused = enters & ~shall & ~near & subject.issued
        tightest.look(lines, span, block, refused, fitted.cylinder.least_step)
        if control_lines:
            on, near = _verdict(control_lines, span, enters)
            _compare_control(subject, faults, block, control_lines, span, (on, near))


def _control_lines(
    subject: _Subject,
    fitted: Fit,
    lines: Sequence[Chamber],
    cylinders: Sequence[PinnedCylinder],
) -> list[Chamber]:
    """The chambers as a control key meets them; none for cylinders without a control line.

    A small-format core's sleeve crosses every chamber. A large-format core's crosses its control
    chambers only; elsewhere its control key must operate like any key.
    """
    core = fitted.cylinder.core
    if core is None:
        return []
    return [
        chamber_rows(fitted, fitted.control_line(), chamber, cylinders, subject.bittings)
        if core.kind is CoreKind.SMALL or chamber in core.control_chambers
        else line
        for chamber, line in enumerate(lines)
    ]


def _compare_operating(
    subject: _Subject,
    faults: FaultList,
    block: Sequence[int],
    lines: Sequence[Chamber],
    span: slice,
    rows: tuple[Words, Words, Words, Words],
) -> None:
    """Who turns the plug. ``rows`` = shall, on, near, enters."""
    shall, on, near, enters = rows

    def why_not(row: int, key: int) -> str:
        if not has(enters[row], key):
            return "does not enter"
        return _held_by(subject, lines, span, row, key)

    def how(row: int, key: int) -> str:
        return "" if has(on[row], key) else "within the least step"

    faults.pairs(FaultKind.BLOCKED, FaultKind.CONTROL_BLOCKED, block, shall & ~on, why_not)
    faults.pairs(FaultKind.OPENS, FaultKind.CONTROL_OPERATES, block, near & ~shall, how)


def _compare_control(
    subject: _Subject,
    faults: FaultList,
    block: Sequence[int],
    lines: Sequence[Chamber],
    span: slice,
    rows: tuple[Words, Words],
) -> None:
    """Who turns the control sleeve: the control key of the door's own group and nobody else."""
    on, near = rows
    rows_shall, bits_shall = [], []
    for row, door in enumerate(block):
        group = subject.chart.doors[door].core_group
        control = _control_of(subject.controls, group)
        if control is None:
            faults.no_control(door, group)
        else:
            rows_shall.append(row)
            bits_shall.append(len(subject.chart.keys) + control)
    shall = with_bits(
        np.array(rows_shall, dtype=np.int64),
        np.array(bits_shall, dtype=np.int64),
        len(block),
        len(subject.bittings),
    )

    def why_not(row: int, key: int) -> str:
        return _held_by(subject, lines, span, row, key)

    def how(row: int, key: int) -> str:
        return "" if has(on[row], key) else "within the least step"

    blocked, reaches = FaultKind.CONTROL_BLOCKED, FaultKind.REACHES_CONTROL
    faults.pairs(blocked, blocked, block, shall & ~on, why_not)
    faults.pairs(reaches, reaches, block, near & ~shall, how)


def _control_of(controls: Sequence[ControlKey], group: str) -> int | None:
    """Index of a group's control key. A single key without a group serves every core."""
    for index, control in enumerate(controls):
        if control.group == group or (len(controls) == 1 and not control.group):
            return index
    return None


def _held_by(subject: _Subject, lines: Sequence[Chamber], span: slice, row: int, key: int) -> str:
    """Which chambers stop a key, and by how many steps; chambers count from 1."""
    found = []
    for chamber, line in enumerate(lines):
        number = line.stack_of[span.start + row]
        level = 0 if line.cut is None else subject.bittings[key][line.cut]
        if not line.passing[number, level]:
            steps = int(line.steps[number, level])
            found.append(f"chamber {chamber + 1}: {'no cut' if steps < 0 else f'{steps} off'}")
    return ", ".join(found)


def _verdict(lines: Sequence[Chamber], span: slice, enters: Words) -> tuple[Words, Words]:
    """Keys at distance 0 in every chamber, and keys nearer than the least step in every one."""
    on, near = enters.copy(), enters.copy()
    for line in lines:
        numbers = line.stack_of[span]
        on &= line.on[numbers]
        near &= line.near[numbers]
    return on, near


def _expected(subject: _Subject, block: Sequence[int]) -> Words:
    """The chart's marks as rows; marks of keys that are not active are none."""
    openers = [subject.chart.openers[door] for door in block]
    keys = np.fromiter((key for row in openers for key in row), dtype=np.int64)
    row_of = np.repeat(np.arange(len(block)), [len(row) for row in openers])
    return with_bits(row_of, keys, len(block), len(subject.bittings)) & subject.active


class _Entering:
    """Rows of the keys that can enter a door's keyway at all."""

    def __init__(self, subject: _Subject, fitted: Fit) -> None:
        self._subject = subject
        self._fitted = fitted
        self._by_keyway: dict[str, Words] = {}

    def rows(self, block: Sequence[int]) -> Words:
        """One row a door of the block."""
        return np.stack([self._row(door) for door in block])

    def _row(self, door: int) -> Words:
        chart = self._subject.chart
        keyway = chart.doors[door].keyway
        if keyway not in self._by_keyway:
            # Control keys carry no blank of their own: they are taken to enter.
            flags = [chart.enters(key, chart.doors[door]) for key in chart.keys]
            flags += [True] * len(self._subject.controls)
            able = np.array(flags, dtype=np.bool_) & self._fitted.enters
            self._by_keyway[keyway] = pack(able)
        return self._by_keyway[keyway]


def _named(tightest: Tightest, chart: AccessChart) -> Margin | None:
    if tightest.door is None or tightest.key is None:
        return None
    return Margin(
        key=chart.keys[tightest.key].name,
        door=chart.doors[tightest.door].name,
        chambers=tightest.chambers,
        steps=tightest.steps,
    )
