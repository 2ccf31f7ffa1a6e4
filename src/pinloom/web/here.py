"""What every page needs: the folder of jobs, the session of the browser, and how to show a page."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from pinloom import messages
from pinloom.core.findings import Finding, Severity
from pinloom.core.job import Job
from pinloom.messages.cautions import BEFORE_THE_WORK
from pinloom.messages.words import FAULTS
from pinloom.web.guard import Bound
from pinloom.web.kept import Kept
from pinloom.web.sessions import Session, Sessions
from pinloom.workflow.live import Looker
from pinloom.workflow.shelf import Shelf, Shelved
from pinloom.workflow.wantedbook import WantedBook

#: the pages of a job, in the order of the work
WAYS: list[tuple[str, str]] = [
    ("/chart", "Who opens what"),
    ("/branches", "Who is under whom"),
    ("/wanted", "Change it"),
    ("/try", "Try a key"),
    ("/bench", "At the bench"),
    ("/audit", "What else opens"),
    ("/lost", "If a key is lost"),
    ("/paper", "Paper"),
]

_ORDER = {Severity.FAULT: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How the page was started. ``seconds`` is a steady clock."""

    jobs: Path
    hosts: tuple[str, ...]  # names with port, the usual one first
    secret: str
    idle: float
    seconds: Callable[[], float]
    ledger: str = ""
    clerk: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """One running page."""

    setting: Setting
    bound: Bound
    sessions: Sessions
    shelf: Shelf
    kept: Kept
    wanted: WantedBook
    looker: Looker

    def forget(self) -> None:
        """Drop everything from memory that a locked page has no use for."""
        self.shelf.forget()
        self.kept.forget()
        self.wanted.forget()
        self.looker.forget()


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """One request: the page, and the session of the browser."""

    request: Request
    house: House
    session: Session

    def page(self, template: str, status: int = 200, **values: Any) -> HTMLResponse:
        """A page of the open session."""
        return show(
            self.request, template, status, idle=self.house.setting.idle, here=self, **values
        )

    def trouble(self, status: int, what: str, do: str) -> HTMLResponse:
        """An error in words, with a way back."""
        return self.page("trouble", status, what=what, do=do)


class Away(Exception):  # an answer, raised from deep inside
    """The page that was asked for is not there; ``what`` and ``do`` say so in words."""

    def __init__(self, status: int, what: str, do: str) -> None:
        super().__init__(what)
        self.status, self.what, self.do = status, what, do


class Elsewhere(Exception):
    """Something else has to be done first, on another page."""

    def __init__(self, path: str) -> None:
        super().__init__(path)
        self.path = path


def _here(request: Request) -> Here:
    session: Session | None = request.state.session
    assert session is not None, "the guard lets nobody in without one"
    return Here(request=request, house=request.app.state.house, session=session)


HereNow = Annotated[Here, Depends(_here)]


@dataclass(frozen=True, slots=True, kw_only=True)
class OnJob:
    """A request about one job, read and proved."""

    here: Here
    shelved: Shelved
    job: Job
    findings: tuple[Finding, ...]

    def page(self, template: str, status: int = 200, **values: Any) -> HTMLResponse:
        """A page of this job."""
        return self.here.page(template, status, name=self.shelved.name, job=self.job, **values)

    @property
    def path(self) -> str:
        """The address of the job."""
        return job_path(self.shelved.name)


def _on_job(here: HereNow, name: str) -> OnJob:
    shelved = here.house.shelf.find(name)
    if shelved is None:
        raise Away(404, f"There is no job called {name} here.", "Choose one of those that are.")
    word = here.session.passphrases.get(name)
    if shelved.sealed and word is None:
        raise Elsewhere(f"{job_path(name)}/unseal")
    loaded = here.house.shelf.job(shelved, word if shelved.sealed else None)
    if loaded.job is None:
        raise Faulty(name, loaded.findings)
    return OnJob(here=here, shelved=shelved, job=loaded.job, findings=loaded.findings)


class Faulty(Exception):
    """A job folder that cannot be read."""

    def __init__(self, name: str, findings: tuple[Finding, ...]) -> None:
        super().__init__(name)
        self.name, self.findings = name, findings


OnThisJob = Annotated[OnJob, Depends(_on_job)]


def job_path(name: str) -> str:
    """The address of a job's pages."""
    return f"/job/{quote(name, safe='')}"


def go(path: str) -> RedirectResponse:
    """After a change: look at what became of it."""
    return RedirectResponse(path, status_code=303)


# --- templates ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Findings of one kind, as a page says them."""

    severity: str
    code: str
    what: tuple[str, ...]
    do: str


def told(findings: Iterable[Finding]) -> tuple[Told, ...]:
    """Findings in words, faults first, those of one kind together."""
    groups: dict[tuple[int, str, str], list[Finding]] = {}
    for one in findings:
        groups.setdefault((_ORDER[one.severity], one.code, messages.do(one)), []).append(one)
    return tuple(
        Told(
            severity=group[0].severity.value,
            code=code,
            what=tuple(_sentence(one) for one in group),
            do=do,
        )
        for (_, code, do), group in sorted(groups.items(), key=lambda item: item[0][0])
    )


def _sentence(finding: Finding) -> str:
    place = f"{finding.place}: " if str(finding.place) else ""
    first = f" First seen: {finding.first}." if finding.first else ""
    return f"{place}{messages.what(finding)}{first}"


def show(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page from its template, with or without a session."""
    session: Session | None = getattr(request.state, "session", None)
    text = (
        templates()
        .get_template(f"{template}.html")
        .render(
            {
                "token": session.token if session else "",
                "idle": 0,
                "name": "",
                "path": request.url.path,
                "cautions": BEFORE_THE_WORK,
                "ways": WAYS,
                "fault_words": FAULTS,
                **values,
            }
        )
    )
    return HTMLResponse(text, status_code=status)


@cache
def templates() -> Environment:
    """The templates; everything is escaped that is not known to be markup."""
    made = Environment(
        loader=PackageLoader("pinloom.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["told"] = told
    made.filters["job_path"] = job_path
    made.filters["part"] = lambda text: quote(str(text), safe="")
    made.filters["count"] = lambda number: f"{number:,}"
    made.globals["drawing"] = Markup
    return made


def many(number: int, one: str, more: str = "") -> str:
    """A number with its noun."""
    return f"{number:,} {one if number == 1 else more or one + 's'}"
