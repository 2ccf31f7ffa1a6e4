"""The key desk: issue, return, overdue, lost, one box to search, a receipt to print. No cuts: the
desk does not know the ledger's passphrase and never asks for it.
"""

from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, TypeVar

from fastapi import APIRouter, Form
from fastapi.responses import Response

from pinloom.core.findings import Finding
from pinloom.web.here import Here, HereNow
from pinloom.workflow import deskpage
from pinloom.workflow import ledgeracts as acts
from pinloom.workflow.ledger import Desk, desk, usual_clerk

router = APIRouter()

T = TypeVar("T")

NAMES = {
    "copy": "keys",
    "person": "people",
    "door": "doors",
    "key": "key symbols",
    "cylinder": "cylinders",
    "system": "systems",
    "site": "sites",
    "blank": "blanks",
}
Text = Annotated[str, Form(max_length=500)]


class _NoAnswer(Exception):
    """The ledger does not answer the question; the findings say why."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__()
        self.findings = findings


@router.get("/desk")
def front(here: HereNow, find: str = "") -> Response:
    """What is out, what is overdue, and the box."""

    def questions(at: Desk) -> Response:
        hits = _ask(at, partial(deskpage.find, text=find))
        groups: dict[str, list[Any]] = {}
        for hit in hits:
            groups.setdefault(NAMES.get(hit.kind, hit.kind), []).append(hit)
        return here.page(
            "desk",
            front=_ask(at, deskpage.front),
            find=find,
            groups=groups,
            path_of=_path_of,
            clerk=at.clerk,
        )

    return _at_desk(here, questions)


def _path_of(hit: Any) -> str | None:
    """Where a thing that was found has its page; None for kinds without one."""
    from urllib.parse import quote

    if hit.kind in ("copy", "person"):
        return f"/desk/{hit.kind}/{hit.ref}"
    if hit.kind in ("door", "key"):
        return f"/desk/{hit.kind}?system={hit.system}&name={quote(hit.ref)}"
    return None


@router.get("/desk/copy/{number}")
def copy(here: HereNow, number: int) -> Response:
    """One copy of a key, and what can be done with it."""
    return _shown(here, "desk-copy", partial(deskpage.copy_page, number=number))


@router.get("/desk/person/{number}")
def person(here: HereNow, number: int) -> Response:
    """One person."""
    return _shown(here, "desk-person", partial(deskpage.person_page, number=number))


@router.get("/desk/door")
def door(here: HereNow, system: int, name: str) -> Response:
    """Who can open a door."""
    return _shown(here, "desk-door", partial(deskpage.door_page, system=system, door=name))


@router.get("/desk/key")
def symbol(here: HereNow, system: int, name: str) -> Response:
    """The copies of a key symbol."""
    return _shown(here, "desk-key", partial(deskpage.symbol_page, system=system, name=name))


@router.get("/desk/receipt/{number}")
def receipt(here: HereNow, number: str) -> Response:
    """A receipt to print and sign."""
    return _shown(here, "desk-receipt", partial(acts.receipt, number=number))


@router.post("/desk/copy/{number}/issue")
def issue(
    here: HereNow, number: int, person: Text = "", due: Text = "", why: Text = ""
) -> Response:
    """Hand a copy to a person."""
    action = partial(acts.issue, key=f"#{number}", person=person, due=due.strip(), why=why)
    return _done(here, action, f"/desk/copy/{number}", receipt=True)


@router.post("/desk/copy/{number}/back")
def back(here: HereNow, number: int, why: Text = "") -> Response:
    """A copy comes back."""
    action = partial(acts.take_back, key=f"#{number}", why=why)
    return _done(here, action, f"/desk/copy/{number}", receipt=True)


@router.post("/desk/copy/{number}/lose")
def lose(here: HereNow, number: int, why: Text = "") -> Response:
    """A copy is lost; what follows is a plan for the doors it opens."""
    action = partial(acts.lose, key=f"#{number}", why=why)
    return _done(here, action, f"/desk/copy/{number}", plans=True)


@router.post("/desk/copy/{number}/find")
def found(here: HereNow, number: int, why: Text = "", trusted: Text = "") -> Response:
    """A lost copy is back in the cabinet."""
    action = partial(acts.find, key=f"#{number}", why=why, trusted=trusted == "yes")
    return _done(here, action, f"/desk/copy/{number}")


@router.post("/desk/copy/{number}/destroy")
def destroy(here: HereNow, number: int, why: Text = "", witness: Text = "") -> Response:
    """A copy was made useless for good."""
    action = partial(acts.destroy, key=f"#{number}", why=why, witness=witness)
    return _done(here, action, f"/desk/copy/{number}")


@router.post("/desk/overdue")
def overdue(here: HereNow) -> Response:
    """Record every copy that is due and not back, once an issue."""
    return _done(here, acts.note_overdue, "/desk")


@router.post("/desk/person")
def add_person(
    here: HereNow, name: Text = "", organisation: Text = "", contact: Text = ""
) -> Response:
    """Somebody new who may hold keys."""
    action = partial(acts.add_person, name=name, organisation=organisation, contact=contact)
    return _done(here, action, "/desk")


# --- how ------------------------------------------------------------------------------------------


def _at_desk(here: Here, work: Callable[[Desk], Response]) -> Response:
    setting = here.house.setting
    with desk(setting.ledger, setting.clerk) as found:
        if found.value is None:
            missing = any(one.code == "ledger-none-here" for one in found.findings)
            return here.page(
                "desk-none",
                200 if missing else 409,
                findings=found.findings,
                missing=missing,
                clerk=setting.clerk or usual_clerk(),
            )
        try:
            return work(found.value)
        except _NoAnswer as none:
            return here.page("faults", 404, findings=none.findings, back="/desk")


def _ask(at: Desk, question: Callable[[Any], T | Finding]) -> T:
    answer = at.ask(question)
    if answer.value is None:
        raise _NoAnswer(answer.findings)
    return answer.value


def _shown(here: Here, template: str, question: Callable[[Any], Any]) -> Response:
    def show(at: Desk) -> Response:
        shown = _ask(at, question)
        return here.page(template, shown=shown, clerk=at.clerk, jobs=here.house.shelf.listed().jobs)

    return _at_desk(here, show)


def _done(
    here: Here,
    action: Callable[[Any], Any],
    back: str,
    *,
    receipt: bool = False,
    plans: bool = False,
) -> Response:
    """Record an action and say what was recorded, or why nothing was."""

    def record(at: Desk) -> Response:
        outcome = at.do(action)
        number = outcome.events[-1].receipt if outcome.done and outcome.events else ""
        symbol = outcome.events[-1].name if outcome.done and outcome.events else ""
        return here.page(
            "desk-done",
            200 if outcome.done else 409,
            done=outcome.done,
            kinds=[event.kind.value for event in outcome.events],
            number=number,
            findings=outcome.findings,
            back=back,
            receipt=receipt and outcome.done,
            jobs=here.house.shelf.listed().jobs if plans and outcome.done else (),
            symbol=symbol,
        )

    return _at_desk(here, record)
