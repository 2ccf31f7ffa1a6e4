"""The hardware formats: all that ship, or one of them or of a user's own."""

from pinloom.core.findings import Finding
from pinloom.core.hardware import HardwareFormat
from pinloom.hardware import load_format, shipped

__all__ = ["all_formats", "one_format"]


def all_formats() -> tuple[HardwareFormat, ...]:
    """Every shipped format, in natural order of names."""
    found = (load_format(name).format for name in shipped())
    return tuple(made for made in found if made is not None)


def one_format(name_or_path: str) -> tuple[HardwareFormat | None, tuple[Finding, ...]]:
    """One format by name or by the path of a file, with what there is to say about it."""
    read = load_format(name_or_path)
    return read.format, read.findings
