"""Findings: what a check says about bad or remarkable input.

Bad input is data. A check returns findings; an exception means a bug or a broken machine. The
wording of a finding stands in ``pinloom.messages``; here are only its code, its place and the
values its wording needs.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import Enum


class Severity(Enum):
    """How much a finding matters."""

    NOTE = "note"  # said for the record
    CAUTION = "caution"  # a person should look
    FAULT = "fault"  # the input cannot be used, or the job is not proved


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a finding is. Rows count from 1 as a spreadsheet shows them; the header is row 1."""

    file: str = ""
    sheet: str = ""
    row: int | None = None
    column: str = ""  # the head of the column, or its letter where it has no head

    def __str__(self) -> str:
        parts = [self.file] if self.file else []
        if self.sheet:
            parts.append(f"sheet {self.sheet}")
        if self.row is not None:
            parts.append(f"row {self.row}")
        if self.column:
            parts.append(f"column {self.column}")
        return ", ".join(parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found. ``values`` fill the placeholders of the code's wording."""

    code: str
    severity: Severity
    place: Place = field(default_factory=Place)
    values: tuple[tuple[str, str], ...] = ()
    first: Place | None = None  # the earlier occurrence that this one repeats

    def value(self, name: str) -> str:
        """The text of one placeholder; raises KeyError when the finding has none of that name."""
        return dict(self.values)[name]


def fault(
    code: str, place: Place | None = None, first: Place | None = None, **values: object
) -> Finding:
    """A finding of severity FAULT."""
    return _finding(code, Severity.FAULT, place, first, values)


def caution(
    code: str, place: Place | None = None, first: Place | None = None, **values: object
) -> Finding:
    """A finding of severity CAUTION."""
    return _finding(code, Severity.CAUTION, place, first, values)


def note(
    code: str, place: Place | None = None, first: Place | None = None, **values: object
) -> Finding:
    """A finding of severity NOTE."""
    return _finding(code, Severity.NOTE, place, first, values)


def _finding(
    code: str,
    severity: Severity,
    place: Place | None,
    first: Place | None,
    values: dict[str, object],
) -> Finding:
    return Finding(
        code=code,
        severity=severity,
        place=place or Place(),
        first=first,
        values=tuple((name, str(value)) for name, value in values.items()),
    )


def has_fault(findings: Iterable[Finding]) -> bool:
    """Whether any of the findings is a fault."""
    return any(finding.severity is Severity.FAULT for finding in findings)
