"""What ``pinloom pin --mend`` shows: what is wrong as found, the least that mends it, the job."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pinloom.cli import show
from pinloom.cli.exits import Exit
from pinloom.cli.progress import Progress
from pinloom.cli.screen import Screen, said
from pinloom.core.findings import Finding, has_fault

if TYPE_CHECKING:
    from pinloom.cli.report import Report
    from pinloom.workflow.mend import MendResult
    from pinloom.workflow.pin import PinOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What the screen options of the command say."""

    door: str | None
    quiet: bool
    as_json: bool
    full: bool


def mending(
    report: "Report",
    order: "PinOrder",
    may_recut: tuple[str, ...],
    before: Sequence[Finding],
    shown: Shown,
) -> int:
    """Run it and tell it."""
    from pinloom.workflow.mend import MendOrder, mend

    with Progress(quiet=shown.quiet or shown.as_json) as progress:
        result = mend(MendOrder(found=order, may_recut=may_recut), progress)
    findings = (*before, *result.findings)
    if result.as_found is None or (has_fault(findings) and result.job is None):
        return report.refuse(findings)
    screen = Screen(quiet=shown.quiet, silent=shown.as_json)
    if not shown.as_json:
        _as_found(screen, result, full=shown.full)
    if result.refusal is not None:
        return report.not_grown(result.refusal, findings)
    if result.job is None or result.saved is None:
        return report.refuse(findings)
    if shown.as_json:
        code = Exit.FAULTS if not result.job.proof.proved or has_fault(findings) else Exit.DONE
        screen.json(_figures(result, findings, code, str(order.out)))
        return code
    report.changes(result.changes)
    return report.job(result.job, result.saved, order.out, findings, shown.door)


def _as_found(screen: Screen, result: "MendResult", *, full: bool) -> None:
    """What is wrong with what is known for certain."""
    found = result.as_found
    if found is None:
        return
    wrong = len(found.proof.faults) + sum(len(one.blocked) for one in result.partly)
    known = f"{len(found.chart.keys)} keys and {len(found.chart.doors)} doors are known whole"
    screen.heading(f"As found: {wrong} faults")
    screen.say(f"{known}; what is wrong among them:" if wrong else f"{known}; nothing is wrong.")
    show.faults(screen, found, full=full)
    rows = [(name, one.door) for one in result.partly for name in one.blocked]
    if rows:
        screen.heading("Kept out already by the chambers that are known")
        screen.table(("key", "door, which it shall open"), rows)


def _figures(
    result: "MendResult", findings: Sequence[Finding], code: Exit, folder: str
) -> dict[str, Any]:
    """Without any cut or pin."""
    job, found, saved = result.job, result.as_found, result.saved
    if job is None or found is None or saved is None:
        raise ValueError("nothing to tell")
    return {
        "exit": int(code),
        "verdict": "PROVED" if job.proof.proved else "NOT PROVED",
        "name": job.name,
        "revision": job.revision,
        "folder": folder,
        "files": list(saved.files),
        "as_found": {
            "keys": len(found.chart.keys),
            "doors": len(found.chart.doors),
            "faults": [
                {"kind": f.kind.value, "key": f.key, "door": f.door} for f in found.proof.faults
            ],
            "kept_out": [
                {"key": name, "door": one.door} for one in result.partly for name in one.blocked
            ],
        },
        "changes": [{"name": one.name, "what": one.what} for one in result.changes],
        "claims": [
            {"measure": c.measure, "value": c.value, "known": c.kind.value, "bound": c.bound}
            for c in job.claims
        ],
        "findings": [said(one) for one in findings],
    }
