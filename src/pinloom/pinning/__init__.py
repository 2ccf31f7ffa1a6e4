"""Chart, formats and cuts to the pins of every cylinder, parts, and what the bench needs."""

from pinloom.pinning.build import stack_for, with_driver
from pinloom.pinning.controls import control_of
from pinloom.pinning.faults import sign_off, stack_faults
from pinloom.pinning.job import Pinned, pin_job
from pinloom.pinning.parts import describe, parts

__all__ = [
    "Pinned",
    "control_of",
    "describe",
    "parts",
    "pin_job",
    "sign_off",
    "stack_faults",
    "stack_for",
    "with_driver",
]
