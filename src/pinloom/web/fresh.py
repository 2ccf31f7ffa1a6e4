"""A new job from a chart: a file, or a table pasted from a spreadsheet."""

import csv
import io
from typing import Annotated

from fastapi import APIRouter, File, Form, UploadFile
from fastapi.responses import Response

from pinloom.core.findings import Finding
from pinloom.web.here import Here, HereNow, go, job_path
from pinloom.web.words import helps, refusal
from pinloom.workflow.formats import all_formats
from pinloom.workflow.freshjob import FreshOrder, Given, fresh_job

router = APIRouter()

USUAL = "us-6x10-014a"  # every number of it is published

Text = Annotated[str, Form(max_length=200)]


@router.get("/new")
def ask(here: HereNow) -> Response:
    """The form."""
    return _form(here)


@router.post("/new")
def make(
    here: HereNow,
    name: Text = "",
    hardware: Text = USUAL,
    pasted: Annotated[str, Form()] = "",
    symbols: Text = "",
    chart: Annotated[UploadFile | None, File()] = None,
    keys: Annotated[UploadFile | None, File()] = None,
) -> Response:
    """Design the chart, pin it, prove it, and open the job."""
    given = _given(chart)
    if given is None or not given.data:
        given = Given(name="pasted.csv", data=_as_csv(pasted))
    known = {made.name for made in all_formats()}
    order = FreshOrder(
        jobs=here.house.setting.jobs,
        name=name,
        hardware=hardware if hardware in known else USUAL,
        chart=given,
        keys=_given(keys),
        symbols=symbols == "yes",
    )
    result = fresh_job(order)
    if result.saved is None or result.job is None:
        return _form(
            here,
            409,
            name=name,
            hardware=order.hardware,
            pasted=pasted,
            findings=result.findings,
            why=tuple(refusal(result.outcome)),
            helpful=helps(result.outcome),
        )
    return go(job_path(" ".join(name.split())))


def _form(
    here: Here,
    status: int = 200,
    *,
    name: str = "",
    hardware: str = USUAL,
    pasted: str = "",
    findings: tuple[Finding, ...] = (),
    why: tuple[str, ...] = (),
    helpful: tuple[str, ...] = (),
) -> Response:
    return here.page(
        "new",
        status,
        formats=[(made.name, made.title) for made in all_formats()],
        called=name,
        hardware=hardware,
        pasted=pasted,
        findings=findings,
        why=why,
        helpful=helpful,
    )


def _given(file: UploadFile | None) -> Given | None:
    if file is None or not file.filename:
        return None
    return Given(name=file.filename, data=file.file.read())


def _as_csv(pasted: str) -> bytes:
    """A table as a spreadsheet puts it on the clipboard, or CSV as it is."""
    text = pasted.replace("\r\n", "\n").strip("\n")
    if "\t" not in text:
        return text.encode("utf-8")
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    for line in text.split("\n"):
        writer.writerow(line.split("\t"))
    return out.getvalue().encode("utf-8")
