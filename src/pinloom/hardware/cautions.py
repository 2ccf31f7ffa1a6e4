"""What is doubtful about a format that can be used: said whenever the format is loaded."""

import math
from collections.abc import Iterator
from dataclasses import replace

from pinloom.core.findings import Finding, Place, caution
from pinloom.core.hardware import HardwareFormat, Provenance
from pinloom.core.lengths import Nanometres, from_inch, in_inch

# Ours: a master pin below this may tilt or wedge. *Keynotes* comparison figure (P-5): below about
# 0.023 in between depths use two steps.
SLIM_PIN: Nanometres = from_inch("0.023")

# A good lock takes about 0.002 in of key error, a worn consumer lock 0.010 to 0.015 in (forum
# sources): up to this step, keys one step apart are separated with a warning.
NARROW_STEP: Nanometres = from_inch("0.023")


def cautions(made: HardwareFormat, place: Place | None = None) -> tuple[Finding, ...]:
    """Cautions about a format, in a fixed order; empty for one that is sound and confirmed."""
    found = [*_memory(made), *_slim(made), *_narrow(made), *_macs(made)]
    return tuple(replace(finding, place=place or Place()) for finding in found)


def macs_by_formula(made: HardwareFormat) -> int | None:
    """The formula's MACS, or None where the format lacks the angle or the flat of its cuts.

    MACS = (spacing - cut flat) / (step x tan(angle / 2)), rounded down: Pulford, *High-Security
    Mechanical Locks*, 2007, quoted. It does not fit every format, so it only warns.
    """
    angle, flat = made.dimensions.cut_angle, made.dimensions.cut_flat
    if angle is None or flat is None:
        return None
    rise = made.step * math.tan(math.radians(angle) / 2)
    return math.floor((made.spacing - flat) / rise)


def _memory(made: HardwareFormat) -> Iterator[Finding]:
    if fields := made.from_memory():
        yield caution("hardware-from-memory", format=made.name, fields=", ".join(fields))


def _slim(made: HardwareFormat) -> Iterator[Finding]:
    slim = [size for size in made.master_pins if size * made.step < SLIM_PIN]
    if slim:
        lengths = " ".join(in_inch(size * made.step) for size in slim)
        yield caution(
            "hardware-slim-pin",
            format=made.name,
            sizes=lengths + " in",
            least=in_inch(SLIM_PIN) + " in",
        )


def _narrow(made: HardwareFormat) -> Iterator[Finding]:
    if made.least_step == 1 and made.step <= NARROW_STEP:
        yield caution("hardware-narrow-step", format=made.name, step=in_inch(made.step) + " in")


def _macs(made: HardwareFormat) -> Iterator[Finding]:
    formula = macs_by_formula(made)
    if formula is not None and formula < made.macs:
        yield caution("hardware-macs-formula", format=made.name, macs=made.macs, formula=formula)


def confirmed(made: HardwareFormat) -> bool:
    """Whether no number of the format is from memory alone."""
    return all(origin.provenance is not Provenance.MEMORY for origin in made.origins)
