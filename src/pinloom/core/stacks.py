"""Pins in a chamber and in a cylinder, as a bench would lay them out."""

from dataclasses import dataclass

from pinloom.core.bitting import Level


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
