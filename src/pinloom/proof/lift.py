"""How high a cut lifts a stack: lengths of pins and heights of roots, nothing else.

Theory. A key lies in the plug; in one chamber the stack stands on the root of the cut that meets
it. Every *joint* of the stack (the top of the bottom pin, of each master pin and of the build-up
pin) then has a height: root + pins below it. The plug turns past a chamber when a joint lies on the
shear line; the line lies where the format's own bottom pin on its own cut puts it. The *offset* of
a cut is the way from the nearest joint to the line, in nanometres.

Where a format gives no pin lengths, pins and cuts are compared by their numbers: one number is one
step.

A cut meets the chamber at its own distance from the stop, never the chamber of the same index. A
chamber that no cut meets is unknown ground (an uncut blade, or past the tip), so it counts against
the design both ways: it neither lets a key open nor keeps one out.

Published tables are rounded, so an offset within a tenth of a step is none (ours, no source; a
table rounded to 0.01 mm stays inside it). For tables in whole steps the allowance changes nothing.
"""

from dataclasses import dataclass

from pinloom.core.hardware import HardwareFormat
from pinloom.core.lengths import Nanometres
from pinloom.core.stacks import PinStack

UNKNOWN = -1  # offset of a cut that cannot be told: passes nobody and keeps nobody out
ROUNDING = 10  # an offset within step / ROUNDING is a rounding of the table


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Keys of one format in cylinders of another (or the same).

    ``cuts[c]`` = index of the key's cut that meets chamber ``c``, None where none does. ``roots``
    are the key's by level, ``pins`` the cylinder's bottom pins by level (None = no length given),
    ``line`` the height of the operating shear line; all three in one unit, nanometres.
    """

    cylinder: HardwareFormat
    enters: bool
    cuts: tuple[int | None, ...]
    roots: tuple[Nanometres, ...]
    pins: tuple[Nanometres | None, ...]
    line: Nanometres

    @property
    def step(self) -> Nanometres:
        """One step of the cylinder."""
        return self.cylinder.step

    def control_line(self) -> Nanometres:
        """Height of the control shear line of a core; the operating line for other cylinders."""
        core = self.cylinder.core
        return self.line + (core.offset * self.step if core else 0)


def fit(key: HardwareFormat, cylinder: HardwareFormat) -> Fit:
    """How keys of one format lie in cylinders of the other.

    A key located by its shoulder and a cylinder made for keys located by their tip do not fit at
    all (``enters`` is False): nothing says where the cuts would lie.
    """
    at = {distance: cut for cut, distance in enumerate(key.positions())}
    lengths = [depth.bottom_pin for depth in cylinder.depths]
    roots = tuple(depth.root for depth in key.depths)
    own = tuple(depth.root for depth in cylinder.depths)
    if any(length is not None for length in lengths):
        pins = tuple(lengths)
        line = next(d.root + d.bottom_pin for d in cylinder.depths if d.bottom_pin is not None)
    else:
        # Pin number n is the pin that fits cut n: where both count alike, one number is one step.
        if (roots, key.step) == (own, cylinder.step):
            roots = own = tuple(-level * key.step for level in range(len(own)))
        pins = tuple(-root for root in own)
        line = 0
    return Fit(
        cylinder=cylinder,
        enters=key.stop is cylinder.stop,
        cuts=tuple(at.get(distance) for distance in cylinder.positions()),
        roots=roots,
        pins=pins,
        line=line,
    )


def offsets(fit: Fit, stack: PinStack | None, line: Nanometres) -> tuple[Nanometres, ...] | None:
    """Per level of the key, the way from the nearest joint of one stack to a shear line.

    All 0 for a chamber without pins; None when the stack has no height (see ``bad.reasons``).
    """
    if stack is None:
        return tuple(0 for _ in fit.roots)
    bottom = fit.pins[stack.bottom] if 0 <= stack.bottom < len(fit.pins) else None
    if bottom is None:
        return None
    joints = [bottom]
    for pin in (*stack.masters, *(() if stack.buildup is None else (stack.buildup,))):
        joints.append(joints[-1] + pin * fit.step)
    return tuple(min(abs(root + joint - line) for joint in joints) for root in fit.roots)


def passes(offset: Nanometres, step: Nanometres) -> bool:
    """Distance 0: the first rule of opening asks it of every chamber."""
    return offset <= step // ROUNDING


def steps_off(offset: Nanometres, step: Nanometres) -> int:
    """Whole steps from the line, what a table's rounding took added back."""
    return (offset + step // ROUNDING) // step
