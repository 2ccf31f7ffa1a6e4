"""What a ledger says of a job's combinations: which no key may get, which may be offered again.

A key that left the chart stays in the proof as one that opens nothing, for ever, unless the books
say that every copy of its cuts is accounted for and has rested; then it is released and its cuts
are free. Cuts that rest, or of which a copy is not accounted for, are given to no new or re-cut
key, whatever key symbol they were of.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field, replace
from datetime import date

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.core.findings import Finding, fault, note
from pinloom.core.job import Job
from pinloom.core.reuse import USUAL_REST, CopyPast, Offer, standing
from pinloom.ledger import lookup, secrets
from pinloom.ledger.resting import Combination
from pinloom.ledger.rows import RevisionRow
from pinloom.ledger.secrets import Secrets
from pinloom.ledger.view import Reading
from pinloom.vault import DataKey
from pinloom.workflow.ledger import Desk, desk
from pinloom.workflow.ledgeracts import Resting, resting

MOST_NAMED = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Books:
    """Where the books are. ``system`` empty = the job's own name; ``rest`` in days."""

    place: str
    passphrase: str
    system: str = ""
    rest: int = USUAL_REST


@dataclass(frozen=True, slots=True, kw_only=True)
class Reuse:
    """``held`` = cuts that no new or re-cut key may get; ``free`` = cuts that were a key's and may
    be offered again; ``copies`` = by cuts what the books know of each copy, under whatever name.
    With a fault all are empty, and the job must not be touched.
    """

    held: frozenset[Bitting] = frozenset()
    free: frozenset[Bitting] = frozenset()
    copies: Mapping[Bitting, tuple[CopyPast, ...]] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def read_reuse(books: Books, job: Job) -> Reuse:
    """Ask the books about every combination that the job's system has had."""
    system = books.system or job.name
    with desk(books.place) as at:
        if at.value is None:
            return Reuse(findings=at.findings)
        asked = _ask(at.value, books, system, job)
    if isinstance(asked, tuple):
        return Reuse(findings=asked)
    return asked


def released(job: Job, wanted: Set[str], reuse: Reuse) -> tuple[Job, tuple[Finding, ...]]:
    """The job without the keys that are not wanted any more and whose cuts are free."""
    gone = {
        key.name
        for key, cut in zip(job.chart.keys, job.bittings, strict=True)
        if key.name not in wanted and cut in reuse.free
    }
    if not gone:
        return job, ()
    opens = {
        door: tuple(name for name in names if name not in gone)
        for door, names in job.chart.opens().items()
    }
    kept = [key for key in job.chart.keys if key.name not in gone]
    left = AccessChart.build(job.chart.doors, kept, opens, job.chart.blanks)
    cuts = job.cuts()
    named = ", ".join(sorted(gone)[:MOST_NAMED])
    if len(gone) > MOST_NAMED:
        named += f" and {len(gone) - MOST_NAMED} more"
    slim = replace(job, chart=left, bittings=tuple(cuts[key.name] for key in left.keys))
    return slim, (note("growth-released", keys=named),)


def forgotten(job: Job, reuse: Reuse) -> tuple[Job, tuple[Finding, ...]]:
    """The job without the retired keys whose cuts are free."""
    wanted = {key.name for key in job.chart.keys if key.standing is not KeyStanding.RETIRED}
    return released(job, wanted, reuse)


def held_given(
    chart: AccessChart, given: Iterable[object], job: Job, reuse: Reuse, system: str
) -> list[Finding]:
    """Cuts that the wanted chart gives to a new key although they are held."""
    known = {key.name for key in job.chart.keys}
    return [
        fault("growth-given-held", key=key.name, system=system)
        for key, cut in zip(chart.keys, given, strict=False)
        if key.name not in known and cut in reuse.held
    ]


def _ask(at: Desk, books: Books, system: str, job: Job) -> Reuse | tuple[Finding, ...]:
    opened = at.unlock(books.passphrase)
    if opened.value is None:
        return opened.findings
    key = opened.value

    def question(view: Reading) -> Reuse | Finding:
        told = resting(view, system, rest=books.rest)
        if isinstance(told, Finding):
            return told
        hidden = _hidden(view, key, system, job)
        return (
            hidden
            if isinstance(hidden, Finding)
            else _sorted(told, hidden, job, date.fromisoformat(view.today))
        )

    found = at.ask(question)
    return found.findings if found.value is None else found.value


def _hidden(view: Reading, key: DataKey, system: str, job: Job) -> Secrets | Finding:
    owner = lookup.system(view, system)
    if isinstance(owner, Finding):
        return owner
    row = view.get(RevisionRow, owner.id, owner.latest)
    if row is None:
        return fault("ledger-seal-damaged", revision=owner.latest)
    hidden = secrets.reveal(view, key, row)
    if isinstance(hidden, Finding):
        return hidden
    every = (cut for past in hidden.past_cuts.values() for cut in past)
    if row.format != job.key_format.name or not all(_levels(job, cut) for cut in every):
        ours = job.key_format.name
        return fault("growth-other-format", system=owner.name, theirs=row.format, ours=ours)
    return hidden


def _sorted(asked: Resting, hidden: Secrets, job: Job, today: date) -> Reuse:
    """Cuts are one thing under whatever names they stood: all their copies count together. A lost
    key goes on under a name of its own, while its copies are on record under the old one.
    """
    told: dict[Bitting, list[Combination]] = defaultdict(list)
    for one in asked.combinations:
        past = hidden.past_cuts.get(one.key, [])
        if 0 < one.combination <= len(past):
            told[_levels(job, past[one.combination - 1])].append(one)
    offers = {cut: _together(ones, asked.rest, today) for cut, ones in told.items()}
    free = frozenset(cut for cut, offer in offers.items() if offer is Offer.FREE)
    held = frozenset(offers) - free
    idle = [cut for cut in held if not any(one.in_use for one in told[cut])]
    never = sum(offers[cut] is Offer.NEVER for cut in idle)
    said = (note("growth-held", system=asked.system.name, resting=len(idle) - never, never=never),)
    return Reuse(
        held=held,
        free=free,
        copies={
            cut: tuple(copy for one in ones for copy in one.copies) for cut, ones in told.items()
        },
        findings=said if idle else (),
    )


def _together(ones: Iterable[Combination], rest: int, today: date) -> Offer:
    ones = list(ones)
    copies = [copy for one in ones for copy in one.copies]
    distrusted = any(one.standing.distrusted for one in ones)
    return standing(copies, rest, today, distrusted=distrusted).offer


def _levels(job: Job, numbers: Iterable[int]) -> Bitting:
    """Depth numbers as levels; () where the job's format has none such."""
    levels = [job.key_format.level_of(number) for number in numbers]
    whole = tuple(level for level in levels if level is not None)
    return whole if len(whole) == job.key_format.chambers else ()
