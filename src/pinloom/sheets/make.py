"""From an order to the files of its sheets, as bytes by name."""

from collections.abc import Iterator, Sequence

from pinloom.core.findings import Finding, caution, fault, has_fault, note
from pinloom.core.job import Job
from pinloom.sheets.bench import bench_sheets
from pinloom.sheets.blocks import Set, Sheet
from pinloom.sheets.cutlist import all_cuts
from pinloom.sheets.order import SheetOrder
from pinloom.sheets.owner import owner_sheets
from pinloom.sheets.paper import face_of, note_of, to_pdf, unprintable
from pinloom.sheets.profiles import profile_scenes
from pinloom.sheets.scene import Scene
from pinloom.sheets.stamps import stamps
from pinloom.sheets.svg import to_svg
from pinloom.sheets.workbook import to_workbook

OWNER, BENCH, WORKBOOK = "owner.pdf", "bench.pdf", "bench.xlsx"

#: sheets by name, with the set they belong to
NAMES = {
    "schedule": Set.OWNER,
    "hierarchy": Set.OWNER,
    "exposure": Set.OWNER,
    "receipts": Set.OWNER,
    "bittings": Set.BENCH,
    "pinning": Set.BENCH,
    "sections": Set.BENCH,
    "cutting": Set.BENCH,
    "parts": Set.BENCH,
    "work": Set.BENCH,
    "tests": Set.BENCH,
    "tags": Set.BENCH,
    "profiles": Set.BENCH,
}


def check(job: Job, names: Sequence[str], approved_by: str | None) -> tuple[Finding, ...]:
    """Why sheets cannot be made of a job, and what a person should know of those that can."""
    found = []
    if not job.proof.proved:
        found.append(fault("sheets-not-proved", faults=len(job.proof.faults)))
    for name in names:
        if name not in NAMES:
            found.append(fault("sheets-no-such-sheet", name=name, names=", ".join(NAMES)))
    found += _unprintable(job, approved_by)
    if not has_fault(found):
        found += _remarks(job, names, approved_by)
    return tuple(found)


def make(order: SheetOrder, names: Sequence[str] = ()) -> dict[str, bytes]:
    """The files: both sets and the workbook, or one file a named sheet. Raises ValueError for a
    job that ``check`` finds a fault with: nothing of it may be printed.
    """
    if has_fault(check(order.job, names, order.approved_by)):
        raise ValueError("not to be printed: ask check() first")
    face = face_of(order.job, order.approved_by)
    owner, bench = owner_sheets(order), bench_sheets(order)
    files: dict[str, bytes] = {}
    if not names:
        files[OWNER] = to_pdf(owner, face, order.paper)
        files[BENCH] = to_pdf(bench, face, order.paper)
        files[WORKBOOK] = to_workbook(bench, note_of(face))
    for sheet in (*owner, *bench):
        if sheet.name in names:
            files[f"{sheet.name}.pdf"] = to_pdf([sheet], face, order.paper)
            if sheet.set is Set.BENCH and _is_tabular(sheet):
                files[f"{sheet.name}.xlsx"] = to_workbook([sheet], note_of(face))
    if not names or "profiles" in names:
        for number, scene in enumerate(_profiles(order.job), start=1):
            files[f"profiles-{number}.svg"] = to_svg(scene).encode()
    return files


def _profiles(job: Job) -> Iterator[Scene]:
    return profile_scenes(job.key_format, all_cuts(job))


def _is_tabular(sheet: Sheet) -> bool:
    return any(getattr(block, "name", "") or hasattr(block, "cards") for block in sheet.blocks)


def _unprintable(job: Job, approved_by: str | None) -> Iterator[Finding]:
    """One fault a text with signs that no font has. Whole tables first: most jobs have none."""
    named = [("job", job.name), ("approval", approved_by or "")]
    for door in job.chart.doors:
        texts = (door.name, door.opening, door.cylinder, door.keyway, *door.excepted)
        named.append((f"door {door.name}", "\n".join(texts)))
    for key in job.chart.keys:
        texts = (key.name, key.under, key.blank, key.note)
        named.append((f"key {key.name}", "\n".join(texts)))
    if not unprintable(text for _, text in named):
        return
    for what, text in named:
        signs = unprintable([text])
        if signs:
            codes = " ".join(f"U+{ord(sign):04X}" for sign in signs)
            yield fault("sheets-unprintable", what=what, signs=codes)


def _remarks(job: Job, names: Sequence[str], approved_by: str | None) -> Iterator[Finding]:
    bench = not names or any(NAMES[name] is Set.BENCH for name in names)
    if bench and approved_by is None:
        yield caution("sheets-not-approved", revision=job.revision)
    hidden = [name for name, mark in stamps(job.chart, job.key_format).items() if name != mark]
    if bench and hidden:
        yield note("sheets-stamp-instead", count=len(hidden), keys=", ".join(hidden[:5]))
