"""Disagreements collected, put in order and turned into findings.

A fault on one door never hides another. A hopeless job (every key opens everything) could have
hundreds of millions, so beyond ``KEPT`` each door names the first of each kind and says how many
more there are.
"""

from collections.abc import Callable, Sequence

import numpy as np

from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, fault
from pinloom.core.job import ControlKey, FaultKind, ProofFault, ProofReport
from pinloom.proof.rows import Words, bits_of, first_bit, pack

KEPT = 200_000

_CODES = {
    FaultKind.OPENS: "proof-opens",
    FaultKind.BLOCKED: "proof-blocked",
    FaultKind.REACHES_CONTROL: "proof-reaches-control",
    FaultKind.CONTROL_OPERATES: "proof-control-operates",
    FaultKind.CONTROL_BLOCKED: "proof-control-blocked",
    FaultKind.BAD_STACK: "proof-bad-stack",
}
_KINDS = list(FaultKind)

Explain = Callable[[int, int], str]  # (row of the block, key) -> detail


def findings(report: ProofReport) -> tuple[Finding, ...]:
    """The faults of a proof as findings; none when it is proved."""
    return tuple(
        fault(_CODES[one.kind], key=one.key, door=one.door, detail=one.detail or "exact")
        for one in report.faults
    )


def control_name(control: ControlKey) -> str:
    """The name of a control key in files and faults."""
    return f"control:{control.group}" if control.group else "control"


class FaultList:
    """Faults by door, while the proof runs."""

    __slots__ = ("_doors", "_found", "_issued", "_keys", "_names")

    def __init__(self, chart: AccessChart, controls: Sequence[ControlKey]) -> None:
        self._doors = [door.name for door in chart.doors]
        self._keys = [key.name for key in chart.keys]
        self._names = [*self._keys, *(control_name(control) for control in controls), ""]
        count = len(self._keys)
        self._issued = pack(np.arange(count + len(controls)) < count)
        self._found: list[tuple[int, int, int, ProofFault]] = []

    def bad_stack(self, door: int, reason: str) -> None:
        """Pins of one door that cannot be."""
        self._add(FaultKind.BAD_STACK, door, -1, reason)

    def no_control(self, door: int, group: str) -> None:
        """A core without a control key of its group."""
        name = f"control:{group}" if group else "control"
        kind = FaultKind.CONTROL_BLOCKED
        made = ProofFault(kind=kind, key=name, door=self._doors[door], detail="no such key")
        self._found.append((door, len(self._keys), _KINDS.index(kind), made))

    def pairs(
        self,
        operating: FaultKind,
        control: FaultKind,
        block: Sequence[int],
        wrong: Words,
        explain: Explain,
    ) -> None:
        """One fault a set bit: ``operating`` kind for keys, ``control`` kind for control keys."""
        for row in map(int, np.flatnonzero(wrong.any(axis=1))):
            if len(self._found) >= KEPT:
                self._first_of(operating, block[row], wrong[row] & self._issued, explain, row)
                self._first_of(control, block[row], wrong[row] & ~self._issued, explain, row)
                continue
            for key in bits_of(wrong[row]):
                kind = operating if key < len(self._keys) else control
                self._add(kind, block[row], key, explain(row, key))

    def _first_of(
        self, kind: FaultKind, door: int, wrong: Words, explain: Explain, row: int
    ) -> None:
        more = int(np.bitwise_count(wrong).sum()) - 1
        if more < 0:
            return
        key = first_bit(wrong)
        others = f"and {more} more keys" if more else ""
        self._add(kind, door, key, f"{explain(row, key)} {others}".strip())

    def in_order(self) -> tuple[ProofFault, ...]:
        """All faults by door, key and kind, in the chart's order; bad stacks lead their door."""
        return tuple(one[-1] for one in sorted(self._found, key=lambda found: found[:-1]))

    def _add(self, kind: FaultKind, door: int, key: int, detail: str) -> None:
        # Key -1 is none: a bad stack is nobody's.
        made = ProofFault(kind=kind, key=self._names[key], door=self._doors[door], detail=detail)
        self._found.append((door, key, _KINDS.index(kind), made))
