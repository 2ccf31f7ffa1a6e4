"""The pins on hand: what a job is short of, and what may be built with them.

Rules. A kit lists parts by kind, size and count; no count means plenty. A kind that the kit does
not mention at all (springs, say) is kept elsewhere and not counted; a size that it does not mention
of a kind that it does is not there.

The pins a job needs are fixed once its cuts are, so what is short follows at once. That no other
design would be short of less can be claimed only from the least number of master pins that any
design of the chart needs: ``shortage_bound``.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pinloom.core.bench import Part, PartCount, PartKind
from pinloom.core.hardware import HardwareFormat
from pinloom.core.lengths import InexactLengthError, Nanometres, from_inch, from_mm
from pinloom.pinning.drivers import driver_labels, driver_length
from pinloom.pinning.parts import in_bench_order, stepped

_LENGTH = re.compile(r"([0-9]*\.?[0-9]+)\s*(in|mm|\")")

Held = tuple[PartKind, str]  # kind and size


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """Count by kind and size; None = plenty. ``sizes`` is sorted, so equal kits are equal."""

    sizes: tuple[tuple[Held, int | None], ...]

    @staticmethod
    def of(counts: Mapping[Held, int | None]) -> "Kit":
        """A kit of these counts."""
        order = {kind: place for place, kind in enumerate(PartKind)}
        return Kit(
            sizes=tuple(sorted(counts.items(), key=lambda item: (order[item[0][0]], item[0][1])))
        )

    def kinds(self) -> frozenset[PartKind]:
        """The kinds of part that the kit holds at all."""
        return frozenset(kind for (kind, _), _ in self.sizes)

    def count(self, part: Part) -> int | None:
        """How many of a part there are; None = plenty, or of a kind that the kit does not hold."""
        if part.kind not in self.kinds():
            return None
        return dict(self.sizes).get((part.kind, part.size), 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """One part of which there are too few."""

    part: Part
    needed: int
    held: int

    @property
    def missing(self) -> int:
        """How many to buy."""
        return self.needed - self.held


WORDS = {
    "bottom": PartKind.BOTTOM,
    "master": PartKind.MASTER,
    "build-up": PartKind.BUILDUP,
    "driver": PartKind.DRIVER,
    "top": PartKind.DRIVER,
    "security driver": PartKind.SECURITY_DRIVER,
    "spring": PartKind.SPRING,
}


def kind_named(text: str) -> PartKind | None:
    """The kind of part that a kit file names, whatever its case: ``bottom`` or ``bottom pin``."""
    return WORDS.get(" ".join(text.lower().split()).removesuffix(" pin"))


def size_named(made: HardwareFormat, kind: PartKind, text: str) -> str | None:
    """What the format calls a size given as a number, a label or a length (``0.030 in``, ``0.762
    mm``); None when it has no such part.
    """
    text = text.strip()
    length = _length(text)
    sizes = {part.size: part.length for part in parts_made(made) if part.kind is kind}
    if length is None:
        return text if text in sizes else None
    return next((size for size, own in sizes.items() if own == length), None)


def parts_made(made: HardwareFormat) -> tuple[Part, ...]:
    """Every part that a format makes, in bench order."""
    core = made.core
    found = [
        Part(kind=PartKind.BOTTOM, size=str(depth.number), length=depth.bottom_pin)
        for depth in made.depths
    ]
    found += [stepped(PartKind.MASTER, size, made) for size in made.master_pins]
    found += [
        stepped(PartKind.BUILDUP, size, made) for size in (core.buildup_sizes if core else ())
    ]
    found += [
        Part(kind=PartKind.DRIVER, size=label, length=driver_length(made, chamber, label))
        for label, chamber in driver_labels(made)
    ]
    found += [
        Part(
            kind=PartKind.SECURITY_DRIVER,
            size=special.label,
            length=driver_length(made, special.chambers[0], special.label),
        )
        for special in made.security_drivers
    ]
    return (*found, Part(kind=PartKind.SPRING))


def _length(text: str) -> Nanometres | None:
    match = _LENGTH.fullmatch(text)
    if match is None:
        return None
    try:
        return (from_mm if match[2] == "mm" else from_inch)(match[1])
    except InexactLengthError:
        return None


def short_of(kit: Kit, needed: Sequence[PartCount]) -> tuple[Short, ...]:
    """What a job lacks, in bench order: to buy exactly this is the smallest purchase for it."""
    wanted: Counter[Part] = Counter()
    for line in needed:
        wanted[line.part] += line.count
    found: list[Short] = []
    for line in in_bench_order(wanted.items()):
        held = kit.count(line.part)
        if held is not None and held < line.count:
            found.append(Short(part=line.part, needed=line.count, held=held))
    return tuple(found)


def master_sizes(kit: Kit, made: HardwareFormat) -> tuple[int, ...] | None:
    """Sizes of master pins on hand that the format knows, ascending: what a design may use. None
    when the kit holds no master pins at all, i.e. says nothing about them.
    """
    if PartKind.MASTER not in kit.kinds():
        return None
    held = {
        int(size)
        for (kind, size), count in kit.sizes
        if kind is PartKind.MASTER and count != 0 and size.isdecimal()
    }
    return tuple(size for size in made.master_pins if size in held)


def shortage_bound(kit: Kit, least_masters: int, made: HardwareFormat) -> int:
    """A lower bound on the master pins that any design is short of, given the least number of
    master pins that any design of the chart needs (proved or bounded by the designer).
    """
    held = [kit.count(Part(kind=PartKind.MASTER, size=str(size))) for size in made.master_pins]
    if any(count is None for count in held):
        return 0
    return max(0, least_masters - sum(count for count in held if count is not None))


def master_shortage(shorts: Sequence[Short]) -> int:
    """Master pins among what is short."""
    return sum(short.missing for short in shorts if short.part.kind is PartKind.MASTER)
