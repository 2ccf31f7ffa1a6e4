"""What of an audit is worth saying in sentences: findings, the weightiest first."""

from collections.abc import Iterator, Sequence

from pinloom.audit.records import Audit
from pinloom.core.findings import Finding, caution, note

NAMED = 8  # names in one sentence
AT_STAKE = 3  # keys at stake that get a sentence of their own


def remarks(audit: Audit, unreadable: Sequence[str]) -> tuple[Finding, ...]:
    """Findings of one audit; none is a fault, for the proof alone says what is wrong."""
    return (
        *_soundness(audit, unreadable),
        *_incidental(audit),
        *_margins(audit),
        *_exposure(audit),
        *_standards(audit),
    )


def _soundness(audit: Audit, unreadable: Sequence[str]) -> Iterator[Finding]:
    if audit.faults:
        yield caution("audit-not-proved", faults=len(audit.faults))
    if unreadable:
        yield caution("audit-unreadable", doors=_listed(unreadable))
    if not audit.census:
        yield note("audit-census-skipped")


def _incidental(audit: Audit) -> Iterator[Finding]:
    census = audit.tolerant
    if census is None:
        return
    if census.strongest:
        top = census.strongest[0]
        yield caution(
            "audit-incidental-master", doors=top.doors, cuts=top.cuts, nearest=top.nearest or "-"
        )
    yield note(
        "audit-key-space",
        keys=f"{census.keys:,}",
        opening=f"{census.opening:,}",
        share=f"{100 * census.opening / census.keys:.2g}" if census.keys else "0",
    )


def _margins(audit: Audit) -> Iterator[Finding]:
    margins = audit.neighbours
    if margins.fragile:
        names = [one.door for one in sorted(margins.fragile, key=lambda one: -one.keys)]
        yield note("audit-fragile-doors", count=len(names), doors=_listed(names))
    if margins.one_step_more:
        yield note(
            "audit-one-step-more",
            pairs=f"{margins.one_step_more:,}",
            refusals=f"{margins.pairs:,}",
        )


def _exposure(audit: Audit) -> Iterator[Finding]:
    for master in audit.masters[:AT_STAKE]:
        yield caution(
            "audit-key-at-stake",
            key=master.key,
            behind=master.behind,
            through=master.through,
            trials=master.least_trials,
        )


def _standards(audit: Audit) -> Iterator[Finding]:
    graded = audit.standards
    yield note("audit-en1303-format", grade=graded.format_grade or "none")
    below = [key.key for key in graded.keys if key.grade < graded.format_grade]
    if below:
        yield note("audit-en1303-keys", count=len(below), keys=_listed(below))
    if graded.selective:
        say = caution if len(graded.selective) > 1 else note
        yield say(
            "audit-selective-masters",
            count=len(graded.selective),
            keys=_listed(graded.selective),
        )
    if graded.cross_keyed:
        yield note(
            "audit-cross-keyed",
            count=len(graded.cross_keyed),
            doors=_listed(graded.cross_keyed),
        )


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(names[:NAMED])
    left = len(names) - NAMED
    return f"{shown} and {left} more" if left > 0 else shown
