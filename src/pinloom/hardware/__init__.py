"""Format files to ``HardwareFormat`` and findings, and back."""

from pinloom.hardware.cautions import cautions, confirmed, macs_by_formula
from pinloom.hardware.load import FormatRead, load_format, read_format, shipped
from pinloom.hardware.write import confirm, format_text

__all__ = [
    "FormatRead",
    "cautions",
    "confirm",
    "confirmed",
    "format_text",
    "load_format",
    "macs_by_formula",
    "read_format",
    "shipped",
]
