"""The first page: the jobs at hand; and how a job is opened."""

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response

from pinloom.core.findings import has_fault
from pinloom.web.here import Away, HereNow, OnThisJob, go, job_path
from pinloom.workflow.demo import FOLDER, demo
from pinloom.workflow.summary import summarise

router = APIRouter()


@router.get("/")
def jobs(here: HereNow) -> Response:
    """Every job in the folder; what to do first where there is none."""
    listed = here.house.shelf.listed()
    return here.page(
        "home",
        jobs=listed.jobs,
        findings=listed.findings,
        open_ones=here.session.passphrases.keys(),
        folder=here.house.setting.jobs.name,
    )


@router.post("/demo")
def make_demo(here: HereNow) -> Response:
    """The example job, made here and now; one that is there already is only opened."""
    if here.house.shelf.find(FOLDER) is None:
        made = demo(here.house.setting.jobs)
        if made.result.job is None or has_fault(made.result.findings):
            return here.page("faults", 409, findings=made.result.findings, back="/")
    return go(job_path(FOLDER))


@router.get("/job/{name}")
def job(on: OnThisJob) -> Response:
    """One job at a glance."""
    remarks = on.here.house.shelf.remarks(on.shelved)
    return on.page("job", summary=summarise(on.job), findings=(*remarks, *on.findings))


@router.get("/job/{name}/unseal")
def ask_passphrase(here: HereNow, name: str) -> Response:
    """The form for a sealed job's passphrase."""
    return _unseal(here, name, "")


@router.post("/job/{name}/unseal")
def unseal(
    here: HereNow, name: str, passphrase: Annotated[str, Form(max_length=1000)] = ""
) -> Response:
    """Open a sealed job for this browser, until it is locked."""
    shelved = here.house.shelf.find(name)
    if shelved is None or not shelved.sealed:
        return _unseal(here, name, "")
    loaded = here.house.shelf.job(shelved, passphrase)
    if loaded.job is None:
        return _unseal(here, name, "It does not open with that passphrase.")
    here.session.passphrases[name] = passphrase
    return go(job_path(name))


def _unseal(here: HereNow, name: str, wrong: str) -> Response:
    shelved = here.house.shelf.find(name)
    if shelved is None:
        raise Away(404, f"There is no job called {name} here.", "Choose one of those that are.")
    if not shelved.sealed:
        return go(job_path(name))
    return here.page("unseal", 403 if wrong else 200, sealed=name, wrong=wrong)
