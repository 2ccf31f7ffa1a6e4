"""The bench, cylinder by cylinder: what goes into each chamber, what is done, what to try.

Only a proved job comes to the bench. Cylinders come in the order that handles the fewest pin sizes
(``pinloom.pinning.assembly``); identical ones follow one another, each checked off by itself.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from pinloom.core.bench import Part, PartCount, PartKind
from pinloom.core.chart import Door
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.stacks import PinStack
from pinloom.pinning import assembly_order, describe, parts
from pinloom.sheets.trial import Trial
from pinloom.workflow.checkoffs import NOTHING, Done

__all__ = [
    "Bench",
    "Chamber",
    "Cylinder",
    "Laid",
    "Line",
    "Piece",
    "bench_of",
    "cylinder",
    "lay_out",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """What does not change while the work goes on: the order of the doors, and per door and
    chamber the parts bottom-up, spring included, nothing where it stays empty.
    """

    job: Job
    order: tuple[int, ...]
    fillings: tuple[tuple[tuple[Part, ...], ...], ...]
    needed: tuple[PartCount, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One cylinder to set up. ``number`` counts from 1 in the order of the work; ``copy`` counts
    identical ones from 0.
    """

    number: int
    door: int
    copy: int
    name: str
    of: int
    chambers: int  # with pins
    done: Done

    @property
    def set_up(self) -> bool:
        """Whether all its pins are in."""
        return len(self.done.chambers) >= self.chambers

    @property
    def state(self) -> str:
        """How far it is, in a word."""
        if self.done.tested:
            return "tested"
        if self.set_up:
            return "pinned"
        return "begun" if self.done.chambers else "to do"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One part: how many the whole job takes, and how many are in."""

    part: Part
    needed: int
    used: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """The whole job at the bench."""

    pieces: tuple[Piece, ...]
    parts: tuple[Line, ...]

    @property
    def tested(self) -> int:
        """How many cylinders are done."""
        return sum(one.done.tested for one in self.pieces)

    @property
    def following(self) -> Piece | None:
        """The first cylinder that is not tested."""
        return next((one for one in self.pieces if not one.done.tested), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chamber:
    """One chamber: its parts bottom-up without the spring, and whether they are in. ``parts`` is
    empty for a chamber that stays empty.
    """

    at: int
    parts: tuple[Part, ...]
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyToTry:
    """A key for the test, by index, and whether it was tried with the right outcome."""

    at: int
    name: str
    done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """One cylinder on the bench with everything around it."""

    piece: Piece
    door: Door
    chambers: tuple[Chamber, ...]
    opens: tuple[KeyToTry, ...]
    refused: tuple[KeyToTry, ...]

    @property
    def next_chamber(self) -> int | None:
        """The first chamber whose pins are not in, from 0."""
        return next((one.at for one in self.chambers if one.parts and not one.done), None)

    @property
    def all_tried(self) -> bool:
        """Whether every key of the test did what it must."""
        return all(one.done for one in (*self.opens, *self.refused))


def lay_out(job: Job) -> Laid:
    """Put the cylinders of a job in order, and count its parts."""
    formats = [job.format_of(door) for door in range(len(job.chart.doors))]
    # A large job repeats few stacks in many doors.
    known: dict[tuple[str, int, PinStack], tuple[Part, ...]] = {}

    def filled(made: HardwareFormat, chamber: int, stack: PinStack | None) -> tuple[Part, ...]:
        if stack is None:
            return ()
        case = (made.name, chamber, stack)
        if case not in known:
            known[case] = describe(stack, made, chamber)
        return known[case]

    return Laid(
        job=job,
        order=assembly_order(formats, job.pinning),
        fillings=tuple(
            tuple(filled(made, chamber, stack) for chamber, stack in enumerate(pins.chambers))
            for made, pins in zip(formats, job.pinning, strict=True)
        ),
        needed=parts(job.chart, formats, job.pinning),
    )


def bench_of(laid: Laid, done: Mapping[tuple[int, int], Done]) -> Bench:
    """The order of the work, and how far it is."""
    chart = laid.job.chart
    pieces: list[Piece] = []
    for door in laid.order:
        filled = sum(bool(chamber) for chamber in laid.fillings[door])
        for copy in range(chart.doors[door].count):
            pieces.append(
                Piece(
                    number=len(pieces) + 1,
                    door=door,
                    copy=copy,
                    name=chart.doors[door].name,
                    of=chart.doors[door].count,
                    chambers=filled,
                    done=done.get((door, copy), NOTHING),
                )
            )
    used: Counter[Part] = Counter()
    for piece in pieces:
        for chamber in piece.done.chambers:
            used.update(laid.fillings[piece.door][chamber])
    return Bench(
        pieces=tuple(pieces),
        parts=tuple(
            Line(part=one.part, needed=one.count, used=used[one.part]) for one in laid.needed
        ),
    )


def cylinder(laid: Laid, piece: Piece) -> Cylinder:
    """One cylinder: its chambers in reading order, and the keys of its test sheet."""
    trial = Trial(laid.job)
    keys = laid.job.chart.keys
    return Cylinder(
        piece=piece,
        door=laid.job.chart.doors[piece.door],
        chambers=tuple(
            Chamber(
                at=at,
                parts=tuple(one for one in filling if one.kind is not PartKind.SPRING),
                done=at in piece.done.chambers,
            )
            for at, filling in enumerate(laid.fillings[piece.door])
        ),
        opens=tuple(
            KeyToTry(at=key, name=keys[key].name, done=key in piece.done.opens)
            for key in trial.must_open(piece.door)
        ),
        refused=tuple(
            KeyToTry(at=key, name=keys[key].name, done=key in piece.done.refused)
            for key in trial.nearest(piece.door)
        ),
    )
