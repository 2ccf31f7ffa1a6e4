"""A job's revision comes into the ledger, and is approved.

The public half of a revision is written out here field by field; whatever is not named (cuts, pins,
layout, given cuts, notes, the proof's fingerprint, which small systems could be guessed from) stays
in the sealed half or outside.
"""

import hashlib

from pinloom.core.findings import Finding, caution, fault, has_fault, note
from pinloom.core.job import Job
from pinloom.ledger import details as d
from pinloom.ledger import lookup, secrets
from pinloom.ledger.events import EventKind
from pinloom.ledger.rows import BlankRow, DoorPlaceRow, RevisionRow, SystemRow
from pinloom.ledger.secrets import Secrets
from pinloom.ledger.view import Reading, Writing, table_of, tidy
from pinloom.vault import DataKey

_LEAST_TELLING = 4  # fewer cuts than this inside a name are no secret worth the false alarms


def enter(
    tx: Writing, key: DataKey, job: Job, site: str, system: str, building: str = ""
) -> list[Finding]:
    """Record a revision with its doors, keys and who opens what; cuts and pins go in sealed.

    The system begins with its first revision. A revision without proof comes in too, for the
    record, and can never be approved.
    """
    found = lookup.site(tx, site)
    if isinstance(found, Finding):
        return [found]
    if problems := _telling_names(job):
        return problems
    owner = _owner(tx, found.id, tidy(system))
    before = _before(tx, key, owner)
    if isinstance(before, Finding):
        return [before]
    hidden = secrets.of_job(job, before)
    mark = key.mark(_identity(job, hidden), "revision")
    if owner.latest and job.revision <= owner.latest:
        known = tx.get(RevisionRow, owner.id, job.revision)
        same = known is not None and known.mark == mark
        code = "ledger-entered-before" if same else "ledger-revision-not-newer"
        return [fault(code, system=owner.name, revision=job.revision, latest=owner.latest)]
    return [*_record(tx, key, job, owner, hidden, mark), *_settle(tx, job, owner, building)]


def _owner(tx: Writing, site: int, name: str) -> SystemRow:
    table = table_of(SystemRow)
    rows = tx.rows(SystemRow, table.c.site == site, table.c.name == name)
    if not rows:
        tx.append(EventKind.SYSTEM, d.System(site=site), subject=0, name=name)
        rows = tx.rows(SystemRow, table.c.site == site, table.c.name == name)
    return rows[0]


def _before(view: Reading, key: DataKey, owner: SystemRow) -> Secrets | Finding | None:
    row = view.get(RevisionRow, owner.id, owner.latest)
    return None if row is None else secrets.reveal(view, key, row)


def _identity(job: Job, hidden: Secrets) -> bytes:
    """What makes two revisions the same: the proof's fingerprint covers chart, cuts and pins."""
    parts = (hidden.fingerprint, repr(sorted(hidden.cuts.items())), repr(job.proof.faults))
    return "\0".join(parts).encode("utf-8")


def _record(
    tx: Writing, key: DataKey, job: Job, owner: SystemRow, hidden: Secrets, mark: str
) -> list[Finding]:
    body = secrets.seal(key, owner.id, job.revision, hidden)
    details = d.Revision(
        revision=job.revision,
        faults=len(job.proof.faults),
        format=job.key_format.name,
        chambers=job.key_format.chambers,
        texts=tuple(depth.stamped for depth in job.key_format.depths),
        sealed=hashlib.sha256(body).hexdigest(),
        mark=mark,
        doors=tuple(
            d.DoorLine(
                name=door.name,
                opening=tidy(door.opening),
                hardware=tidy(door.hardware),
                keyway=tidy(door.keyway),
                core_group=tidy(door.core_group),
                count=door.count,
                pinning=hidden.pinning(door.name),
            )
            for door in job.chart.doors
        ),
        keys=tuple(
            d.KeyLine(
                name=line.name,
                standing=line.standing.value,
                combination=hidden.combination(line.name),
                limit=line.copies,
                blank=tidy(line.blank),
            )
            for line in job.chart.keys
        ),
        opens=job.chart.openers,
    )
    proved = job.proof.proved
    kind = EventKind.PROVED if proved else EventKind.ENTERED
    event = tx.append(kind, details, system=owner.id)
    tx.keep_sealed(event.seq, body)
    if proved:
        return []
    return [caution("ledger-not-proved", system=owner.name, revision=job.revision)]


def _settle(tx: Writing, job: Job, owner: SystemRow, building: str) -> list[Finding]:
    """What a revision brings along: blanks not known yet, and the building of new doors."""
    said: list[Finding] = []
    for name in sorted({tidy(line.blank) for line in job.chart.keys} - {""}):
        if tx.get(BlankRow, name) is None:
            tx.append(EventKind.BLANK, d.BlankNamed(), name=name)
            said.append(note("ledger-new-blank", blank=name))
    if tidy(building):
        for door in job.chart.doors:
            if tx.get(DoorPlaceRow, owner.id, door.name) is None:
                where = d.DoorPlaced(building=tidy(building))
                tx.append(EventKind.DOOR_PLACED, where, system=owner.id, name=door.name)
    return said


def _telling_names(job: Job) -> list[Finding]:
    """Names that cannot be kept: changed by tidying, or showing the cuts of their own key."""
    found = [
        fault("ledger-name-unusable", name=tidy(name))
        for name in [door.name for door in job.chart.doors] + [key.name for key in job.chart.keys]
        if tidy(name) != name or not name
    ]
    keys = job.key_format
    pairs = zip(job.chart.keys, job.bittings, strict=True)
    for number, (key, levels) in enumerate(pairs, start=1):
        plain = "".join(str(keys.number_of(level)) for level in levels)
        shown = {keys.stamp(levels), plain}
        packed = "".join(sign for sign in key.name if sign.isalnum())
        if len(levels) >= _LEAST_TELLING and any(text in packed for text in shown):
            found.append(fault("ledger-name-shows-cuts", number=number))
    return found


def approve(
    tx: Writing, system: str, number: int, by: str, authority: str, why: str = ""
) -> list[Finding]:
    """A proved revision may be cut, pinned and issued from."""
    owner = lookup.system(tx, system)
    if isinstance(owner, Finding):
        return [owner]
    row = lookup.revision(tx, owner, number)
    if isinstance(row, Finding):
        return [row]
    said: list[Finding] = []
    if not row.proved:
        said.append(fault("ledger-unproved", system=owner.name, revision=number))
    if row.approved_at or number < owner.approved:
        said.append(
            fault(
                "ledger-approved-before",
                system=owner.name,
                revision=number,
                approved=owner.approved,
            )
        )
    if not tidy(by) or not tidy(authority):
        said.append(fault("ledger-no-authority"))
    if not has_fault(said):
        details = d.Approved(revision=number, by=tidy(by), authority=tidy(authority))
        tx.append(EventKind.APPROVED, details, system=owner.id, why=why)
    return said
