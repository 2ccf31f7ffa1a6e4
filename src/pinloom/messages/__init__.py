"""The wording of every finding, in one place: one module a stage, one entry a code.

A wording has a sentence for what is wrong and one for what to do, both with ``{placeholders}`` that
the finding's values fill. Codes are stable; wording may be improved.
"""

from functools import cache
from importlib import import_module

from pinloom.core.findings import Finding
from pinloom.messages._wording import Wording

__all__ = ["STAGES", "Wording", "do", "line", "what", "wordings"]

STAGES = (
    "chart",
    "hardware",
    "design",
    "pinning",
    "proof",
    "audit",
    "growth",
    "sheets",
    "ledger",
    "draft",
    "web",
    "workflow",
)


@cache
def wordings() -> dict[str, Wording]:
    """All wordings by code. Raises ValueError when two stages claim one code."""
    merged: dict[str, Wording] = {}
    for stage in STAGES:
        table: dict[str, Wording] = import_module(f"pinloom.messages.{stage}").WORDINGS
        twice = merged.keys() & table.keys()
        if twice:
            raise ValueError(f"codes worded twice: {sorted(twice)}")
        merged |= table
    return merged


def what(finding: Finding) -> str:
    """The sentence that says what is wrong."""
    return wordings()[finding.code].what.format(**dict(finding.values))


def do(finding: Finding) -> str:
    """The sentence that says what to do."""
    return wordings()[finding.code].do.format(**dict(finding.values))


def line(finding: Finding) -> str:
    """The finding as one paragraph: place, severity, what, what to do, first occurrence, code."""
    place = f"{finding.place}: " if str(finding.place) else ""
    first = f" First seen: {finding.first}." if finding.first else ""
    return f"{place}{finding.severity.value}: {what(finding)}{first} {do(finding)} [{finding.code}]"
