"""Try a key: any door with any key or typed cuts. Typed cuts are a secret: they are sent in a form
and never stand in an address.
"""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from pinloom.core.bitting import Bitting
from pinloom.web.here import OnJob, OnThisJob
from pinloom.workflow.trying import (
    Cuts,
    Met,
    Misread,
    State,
    Verdict,
    candidates,
    doors_for,
    keys_at,
    read_typed,
    try_key,
)

router = APIRouter()

MOST = 400  # lines of a list on one page
PIECE = "x-pinloom-piece"  # a script asks for the answer alone

VERDICTS = {
    Verdict.TURNS: "turns",
    Verdict.MAY_TURN: "may turn: counts as opening",
    Verdict.HELD: "held",
    Verdict.UNKNOWN: "cannot be told",
    Verdict.NO_KEY: "no key",
}
STATES = {
    State.FREE: "free",
    State.NEAR: "near the line: wear may let it pass",
    State.HELD: "holds the key",
    State.UNPINNED: "no pins",
    State.UNKNOWN: "cannot be told",
    State.AT_REST: "at rest",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the form says, as typed."""

    door: str = ""
    key: str = ""
    cuts: str = ""
    go: str = ""


@router.get("/job/{name}/try")
def ask(request: Request, on: OnThisJob, door: str = "", key: str = "") -> Response:
    """The form with a door and a key of the job; the first of each where none is named."""
    return _answer(request, on, Wish(door=door, key=key))


@router.post("/job/{name}/try")
def answer(
    request: Request,
    on: OnThisJob,
    door: Annotated[str, Form(max_length=500)] = "",
    key: Annotated[str, Form(max_length=500)] = "",
    cuts: Annotated[str, Form(max_length=200)] = "",
    go: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Any door, with a key of the job or, where they are typed, with cuts."""
    return _answer(request, on, Wish(door=door, key=key, cuts=cuts, go=go))


def _answer(request: Request, on: OnJob, wish: Wish) -> Response:
    job = on.job
    doors = [one.name for one in job.chart.doors]
    keys = candidates(job)
    names = [one.name for one in keys]
    door, unknown_door = _chosen(wish.door, doors, wish.go, "door")
    number, unknown_key = _chosen(wish.key, names, wish.go, "key")
    wrong = [text for text in (unknown_door, unknown_key if not wish.cuts else "") if text]
    cuts: Cuts | Misread = keys[number].cuts
    if wish.cuts.strip() and not wish.go.startswith("key"):
        cuts = read_typed(job, wish.cuts)
    if isinstance(cuts, Misread):
        wrong.append(_misread(cuts, on))
    tried = None if wrong or isinstance(cuts, Misread) else try_key(job, door, cuts)
    at_door: tuple[Met, ...] = ()
    at_key: tuple[Met, ...] = ()
    if tried is not None and isinstance(cuts, Cuts):
        at_door, at_key = keys_at(job, door), doors_for(job, cuts)
    piece = "tried" if request.headers.get(PIECE) else "try"
    return on.page(
        piece,
        doors=doors,
        keys=names,
        door=doors[door],
        key=names[number],
        typed=wish.cuts if not wish.go.startswith("key") else "",
        wrong=wrong,
        tried=tried,
        at_door=at_door[:MOST],
        at_key=at_key[:MOST],
        more_keys=max(0, len(at_door) - MOST),
        more_doors=max(0, len(at_key) - MOST),
        opening_keys=sum(one.opens for one in at_door),
        opening_doors=sum(one.opens for one in at_key),
        verdicts=VERDICTS,
        states=STATES,
        example=job.key_format.stamp(_example(job.key_format.chambers, job.key_format.levels)),
    )


def _chosen(text: str, names: list[str], go: str, what: str) -> tuple[int, str]:
    """The index of a name, moved on where a button says so; the first with an error otherwise."""
    wanted = text.strip() or names[0]
    if wanted not in names:
        close = [one for one in names if one.casefold() == wanted.casefold()]
        if not close:
            return 0, f"There is no {what} called {wanted}. Choose one of the list."
        wanted = close[0]
    step = {f"{what}+": 1, f"{what}-": -1}.get(go, 0)
    return (names.index(wanted) + step) % len(names), ""


def _misread(why: Misread, on: OnJob) -> str:
    made = on.job.key_format
    if why is Misread.OPEN:
        return "A cut is left open. Type every cut, or choose a key."
    return (
        f"Those are no cuts of this hardware. It takes {made.chambers} cuts, each from "
        f"{made.depths[0].stamped} (shallow) to {made.depths[-1].stamped} (deep), read from "
        f"{made.reading.value}."
    )


def _example(chambers: int, levels: int) -> Bitting:
    """Some cuts to show how they are written: never a key of the job on purpose."""
    return tuple((2 + place) % levels for place in range(chambers))
