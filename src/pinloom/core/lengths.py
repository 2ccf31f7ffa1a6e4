"""Lengths are whole nanometres inside the program; inches and millimetres exist only at its edges.

0.0001 in is 2,540 nm and 0.001 mm is 1,000 nm, both whole, so every published table converts
exactly and two tables in different units compare without rounding.
"""

from decimal import Decimal, InvalidOperation

Nanometres = int

NM_PER_INCH = 25_400_000
NM_PER_MM = 1_000_000


class InexactLengthError(ValueError):
    """The text is no number, or is finer than a whole nanometre."""


def _whole(text: str, factor: int) -> Nanometres:
    try:
        value = Decimal(text.strip()) * factor
    except InvalidOperation as error:
        raise InexactLengthError(f"{text!r} is not a decimal number") from error
    if not value.is_finite() or value != value.to_integral_value():
        raise InexactLengthError(f"{text!r} is not a whole number of nanometres")
    return int(value)


def from_inch(text: str) -> Nanometres:
    """Nanometres of a decimal inch text such as ``"0.0125"``. Raises InexactLengthError."""
    return _whole(text, NM_PER_INCH)


def from_mm(text: str) -> Nanometres:
    """Nanometres of a decimal millimetre text such as ``"3.81"``. Raises InexactLengthError."""
    return _whole(text, NM_PER_MM)


def in_inch(length: Nanometres, places: int = 4) -> str:
    """Inches, rounded half to even, with a fixed number of decimal places."""
    return f"{round(Decimal(length) / NM_PER_INCH, places):.{places}f}"


def in_mm(length: Nanometres, places: int = 3) -> str:
    """Millimetres, rounded half to even, with a fixed number of decimal places."""
    return f"{round(Decimal(length) / NM_PER_MM, places):.{places}f}"
