"""Pins in a chamber and in a cylinder, as a bench would lay them out."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from pinloom.core.bitting import Level
from pinloom.core.hardware import HardwareFormat

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class PinStack:
    """One chamber, bottom-up. ``bottom`` is the level of the shallowest cut that operates it;
    ``masters`` and ``buildup`` are in steps; ``driver`` is the label the format gives that pin.
    """

    bottom: Level
    masters: tuple[int, ...] = ()
    buildup: int | None = None
    driver: str = ""

    def cuts(self) -> tuple[Level, ...]:
        """The levels that bring a shear line of this stack to the operating line, shallow first."""
        levels = [self.bottom]
        for master in self.masters:
            levels.append(levels[-1] + master)
        return tuple(levels)


@dataclass(frozen=True, slots=True, kw_only=True)
class PinnedCylinder:
    """The stacks of one cylinder by chamber, in the format's reading order; None = unpinned."""

    door: str
    chambers: tuple[PinStack | None, ...]

    def master_pins(self) -> int:
        """How many master pins the cylinder holds (build-up pins not counted)."""
        return sum(len(stack.masters) for stack in self.chambers if stack is not None)


class PerStack(Generic[T]):
    """What is to be known of a stack in a chamber (counted from 0) of a format, worked out once for
    equal stacks: a large job repeats few of them in many doors, mostly as the same record.
    """

    def __init__(self, work: Callable[[HardwareFormat, int, PinStack], T]) -> None:
        self._work = work
        self._known: dict[tuple[str, int, PinStack], T] = {}
        # The record is kept beside its answer, so that its id stays its own.
        self._by_id: dict[tuple[int, int, int], tuple[T, PinStack, HardwareFormat]] = {}

    def of(self, made: HardwareFormat, chamber: int, stack: PinStack) -> T:
        """The answer for one stack. Formats of one name are one."""
        found = self._by_id.get((id(made), chamber, id(stack)))
        if found is None:
            case = (made.name, chamber, stack)
            if case not in self._known:
                self._known[case] = self._work(made, chamber, stack)
            found = self._by_id[id(made), chamber, id(stack)] = self._known[case], stack, made
        return found[0]
