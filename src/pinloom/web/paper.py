"""Paper: sheets made in memory, to look at and to save."""

import io
import zipfile
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from pinloom.core.findings import Finding, has_fault
from pinloom.web.here import Away, OnJob, OnThisJob, go
from pinloom.workflow.papers import Paper, PapersOrder, papers, sheet_names

router = APIRouter()

KINDS = {
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".zip": "application/zip",
}
SHEETS = {
    "schedule": "keying schedule",
    "hierarchy": "who is under whom",
    "exposure": "what else opens, for the owner",
    "receipts": "key receipts",
    "bittings": "bitting list",
    "pinning": "pinning list",
    "sections": "sections of cylinders",
    "cutting": "cutting list",
    "parts": "parts",
    "work": "work order",
    "tests": "test sheet",
    "tags": "tags",
    "profiles": "key profiles at true scale",
}
# The browser's own viewer draws a PDF; it may load and run nothing from the page.
FILE_POLICY = (
    "default-src 'none'; object-src 'self'; style-src 'unsafe-inline'; frame-ancestors 'none'"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Sheets made together."""

    files: tuple[tuple[str, bytes], ...]
    findings: tuple[Finding, ...]
    approved_by: str


@router.get("/job/{name}/paper")
def ask(on: OnThisJob) -> Response:
    """What to print."""
    return _form(on, ())


@router.post("/job/{name}/paper")
def make(
    on: OnThisJob,
    names: Annotated[list[str] | None, Form(max_length=40)] = None,
    approved_by: Annotated[str, Form(max_length=200)] = "",
    size: Annotated[str, Form(max_length=20)] = Paper.A4.value,
) -> Response:
    """Make the sheets; they stay in memory until the page is locked."""
    sizes = {paper.value: paper for paper in Paper}
    order = PapersOrder(
        job=on.job,
        folder=on.shelved.folder,
        names=tuple(names or ()),
        passphrase=on.here.session.passphrases.get(on.shelved.name),
        approved_by=approved_by,
        paper=sizes.get(size, Paper.A4),
    )
    made = papers(order)
    if has_fault(made.findings):
        return _form(on, made.findings)
    batch = Batch(files=made.files, findings=made.findings, approved_by=approved_by.strip())
    on.here.house.kept.put(_key(on), batch)
    return go(f"{on.path}/paper/made")


@router.get("/job/{name}/paper/made")
def made(on: OnThisJob) -> Response:
    """The sheets that were made last."""
    batch = on.here.house.kept.get(_key(on), Batch)
    if batch is None:
        return go(f"{on.path}/paper")
    return on.page(
        "made",
        files=[(file, len(data)) for file, data in batch.files],
        findings=batch.findings,
        approved_by=batch.approved_by,
    )


@router.get("/job/{name}/paper/made/{file}")
def one(on: OnThisJob, file: str, save: bool = False) -> Response:
    """One file, or all of them as ``all.zip``."""
    batch = on.here.house.kept.get(_key(on), Batch)
    files = dict(batch.files) if batch else {}
    data = _zipped(files) if file == "all.zip" and files else files.get(file)
    if data is None:
        raise Away(404, "That sheet is not at hand any more.", "Make it again on the page Paper.")
    kind = KINDS.get(file[file.rfind(".") :], "application/octet-stream")
    way = "attachment" if save or not file.endswith((".pdf", ".svg")) else "inline"
    return Response(
        data,
        media_type=kind,
        headers={
            "content-disposition": f'{way}; filename="{file}"',
            "content-security-policy": FILE_POLICY,
        },
    )


def _form(on: OnJob, findings: tuple[Finding, ...]) -> Response:
    sets: dict[str, list[tuple[str, str]]] = {}
    for name, kind in sheet_names().items():
        sets.setdefault(kind, []).append((name, SHEETS.get(name, name)))
    return on.page(
        "paper",
        409 if findings else 200,
        findings=findings,
        sets=sets,
        sizes=[paper.value for paper in Paper],
        at_hand=on.here.house.kept.get(_key(on), Batch) is not None,
    )


def _key(on: OnJob) -> tuple[str, ...]:
    return ("paper", on.shelved.name, on.job.proof.fingerprint, str(on.job.revision))


def _zipped(files: dict[str, bytes]) -> bytes:
    """All files in one, with a fixed date so that the same sheets give the same bytes."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return data.getvalue()
