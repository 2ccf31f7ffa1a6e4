"""Change who opens what: edits with the fingerprint of what was seen, and a verdict while editing.

Edits go to a chart of their own; the job changes only when a person says so.
"""

from collections.abc import Iterator
from typing import Annotated, Any

from fastapi import APIRouter, Form
from fastapi.responses import JSONResponse, Response

from pinloom import messages
from pinloom.core.request import Remedy
from pinloom.web.chart import as_data
from pinloom.web.here import Away, OnJob, OnThisJob, go, many
from pinloom.web.words import helps, refusal, repair, some
from pinloom.workflow.edits import read_edits
from pinloom.workflow.live import Answer, Look
from pinloom.workflow.making import Made, MakeOrder, make_next
from pinloom.workflow.wanted import Wanted, Written

router = APIRouter()

WAIT = 0.35  # seconds for which a question about the verdict is held back
#: repairs that are one mark less, to click
LESS = ("remedy-drop-mark", "remedy-leave-outside-master")


@router.get("/job/{name}/wanted")
def page(on: OnThisJob) -> Response:
    """The grid to edit."""
    if on.shelved.sealed:
        raise Away(
            409,
            "This job is sealed, and an edited chart beside it would tell what the seal hides.",
            "Write the wanted chart as a file and use pinloom grow, which keeps the seal.",
        )
    written = _wanted(on).now(on.job.chart)
    return on.page(
        "wanted",
        edited=written.chart != on.job.chart,
        findings=written.findings,
        keys=[key.name for key in written.chart.keys],
    )


@router.get("/job/{name}/wanted.json")
def data(on: OnThisJob) -> JSONResponse:
    """The wanted chart with its fingerprint."""
    return _told(on, _wanted(on).now(on.job.chart), whole=True)


@router.post("/job/{name}/wanted")
def write(
    on: OnThisJob,
    seen: Annotated[str, Form(max_length=64)],
    edits: Annotated[str, Form()],
) -> JSONResponse:
    """Edits, all or none, on the chart that was seen."""
    read = read_edits(edits)
    if read is None:
        return JSONResponse(
            {"what": "The change cannot be read.", "do": "Load the page anew."}, status_code=422
        )
    written = _wanted(on).write(seen, read)
    return _told(on, written, whole=any(edit.do != "mark" for edit in read))


@router.post("/job/{name}/wanted/back")
def back(on: OnThisJob, seen: Annotated[str, Form(max_length=64)]) -> JSONResponse:
    """One step back."""
    return _told(on, _wanted(on).step(seen, back=True), whole=True)


@router.post("/job/{name}/wanted/forth")
def forth(on: OnThisJob, seen: Annotated[str, Form(max_length=64)]) -> JSONResponse:
    """One step forth again."""
    return _told(on, _wanted(on).step(seen, back=False), whole=True)


@router.get("/job/{name}/wanted/verdict")
def verdict(on: OnThisJob, seen: str) -> JSONResponse:
    """What is known of the wanted chart by now."""
    written = _wanted(on).now(on.job.chart)
    if written.seen != seen:
        return JSONResponse({"seen": written.seen, "answer": "gone", "final": True})
    look = on.here.house.looker.ask(on.job, written.chart, seen, WAIT)
    return JSONResponse({"seen": seen, **_said(look, written)})


@router.post("/job/{name}/wanted/drop")
def drop(on: OnThisJob) -> Response:
    """Forget the edits."""
    try:
        _wanted(on).drop()
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise Away(
            409, f"The edits cannot be dropped: {reason}.", "Look after the folder."
        ) from error
    return go(f"{on.path}/wanted")


@router.post("/job/{name}/wanted/make")
def make(
    on: OnThisJob,
    seen: Annotated[str, Form(max_length=64)] = "",
    how: Annotated[str, Form(max_length=10)] = "keep",
) -> Response:
    """The wanted chart becomes the next revision."""
    wanted = _wanted(on)
    written = wanted.now(on.job.chart)
    if written.seen != seen:
        raise Away(
            409,
            "The chart was changed in another window after you looked.",
            "Look at it again, then decide.",
        )
    made = make_next(
        MakeOrder(folder=on.shelved.folder, job=on.job, chart=written.chart, anew=how == "anew")
    )
    if made.job is not None and made.job.proof.proved:
        wanted.drop()
    on.here.house.looker.forget()
    status = 200 if made.job else 409
    return on.page("revision", status, made=made, why=_why(made), helpful=helps(made.outcome))


def _wanted(on: OnJob) -> Wanted:
    if on.shelved.sealed:
        raise Away(409, "This job is sealed.", "Use pinloom grow, which keeps the seal.")
    return on.here.house.wanted.of(on.shelved, on.job.chart)


def _told(on: OnJob, written: Written, *, whole: bool) -> JSONResponse:
    told: dict[str, Any] = {
        "seen": written.seen,
        "back": written.back,
        "forth": written.forth,
        "edited": written.chart != on.job.chart,
    }
    stale = any(one.code == "edit-stale" for one in written.findings)
    if written.findings:
        told["findings"] = [
            {"what": messages.what(one), "do": messages.do(one)} for one in written.findings
        ]
    if whole or written.findings:
        told["chart"] = as_data(written.chart)
    status = 200 if not written.findings else 409 if stale else 422
    return JSONResponse(told, status_code=status)


# --- the verdict in words -------------------------------------------------------------------------


def _said(look: Look, written: Written) -> dict[str, Any]:
    return {
        "answer": look.answer.name.lower(),
        "final": look.final,
        "words": list(_words(look)),
        "doors": list(look.doors),
        "keys": list(look.keys),
        "repairs": [_repair(one, written) for one in look.remedies],
    }


def _words(look: Look) -> Iterator[str]:
    if look.answer is Answer.LOOKING:
        yield "Still looking."
    elif look.answer is Answer.POSSIBLE:
        line = f"Possible, with {many(look.master_pins, 'master pin')}."
        if look.tightest is not None:
            tight = look.tightest
            line += (
                f" Narrowest refusal: key {tight.key} at {tight.door}, held by "
                f"{many(tight.chambers, 'chamber')}."
            )
        yield line
    elif look.answer is Answer.IMPOSSIBLE:
        yield "Impossible on this hardware."
    else:
        yield f"Not found in a quick look of {many(look.steps, 'step')}, and not excluded."
    if look.reason is not None:
        yield messages.what(look.reason)
    if look.answer in (Answer.IMPOSSIBLE, Answer.NOT_FOUND) and look.doors:
        yield f"Doors in question: {some(look.doors)}. Keys: {some(look.keys)}."
    if look.kept:
        yield f"The present cuts do: {many(look.repinned, 'door')} get other pins, no key is cut."
    elif look.kept is False:
        yield "The present cuts do not do as they are."
    if look.answer in (Answer.IMPOSSIBLE, Answer.NOT_FOUND) and not look.final:
        yield "Still looking for what would help."


def _repair(remedy: Remedy, written: Written) -> dict[str, Any]:
    values = dict(remedy.values)
    told: dict[str, Any] = {
        "words": repair(remedy),
        "verified": remedy.verified,
    }
    known = values.get("door") in written.chart.door_index()
    if remedy.change in LESS and known and values.get("key") in written.chart.key_index():
        told["edit"] = {"do": "mark", "door": values["door"], "key": values["key"], "on": False}
    return told


def _why(made: Made) -> list[str]:
    """Why there is no next revision, in sentences."""
    said = []
    if made.refusal is not None:
        if made.refusal.proved:
            said.append("Impossible with the keys as they are cut.")
        else:
            said.append(f"Not found after {made.refusal.tried:,} choices, and not excluded.")
        said += [
            f"Key {key} opens {door} and shall not." for key, door in made.refusal.clashes[:20]
        ]
        if made.refusal.helpful:
            said.append(f"New cuts for one of these may help: {some(made.refusal.helpful)}.")
    return [*said, *refusal(made.outcome)]
