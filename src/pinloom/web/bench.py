"""The bench: one cylinder at a time, chamber by chamber, every check-off on the disk at once."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response

from pinloom.messages.words import PARTS
from pinloom.web.here import Away, OnJob, OnThisJob, go
from pinloom.web.trial import PIECE
from pinloom.workflow.atbench import Bench, Cylinder, Laid, Piece, bench_of, cylinder, lay_out
from pinloom.workflow.checkoffs import Tick, What, read, record

router = APIRouter()

NOWHERE = 10**9  # no chamber and no key has this index
GO = "x-pinloom-go"  # tells the script to go to another page


@router.get("/job/{name}/bench")
def overview(on: OnThisJob) -> Response:
    """Every cylinder in the order of the work, and the pins counted."""
    bench = _bench(on)
    return on.page("bench", bench=bench, words=PARTS)


@router.get("/job/{name}/bench/{number}")
def one(request: Request, on: OnThisJob, number: int) -> Response:
    """One cylinder at its first chamber that is not done."""
    return _show(request, on, _piece(_bench(on), number), None)


@router.post("/job/{name}/bench/{number}")
def act(
    request: Request,
    on: OnThisJob,
    number: int,
    go: Annotated[str, Form(max_length=20)] = "",  # what, then a hyphen and where
) -> Response:
    """Check off, take back, look at another chamber, or go on."""
    piece = _piece(_bench(on), number)
    what, _, where = go.partition("-")
    at = int(where) if where.isdecimal() and len(where) < 9 else NOWHERE
    if what in ("look", "test"):
        return _show(request, on, piece, at if what == "look" else -1)
    tick = _tick(on, piece, what, at)
    if tick is None:
        return _show(request, on, piece, None)
    found = record(on.shelved.folder, tick)
    if found:
        return on.here.page("faults", 409, findings=found, back=f"{on.path}/bench")
    if tick.what is What.TESTED and tick.done:
        return _onward(request, on, number)
    return _show(request, on, _piece(_bench(on), number), -1 if what in _TESTS else None)


_TESTS = ("opens", "refused", "unopens", "unrefused", "untested")


def _tick(on: OnJob, piece: Piece, what: str, at: int) -> Tick | None:
    """The check-off that a button asks for; None when it makes no sense here."""
    done = not what.startswith("un")
    kinds = {
        "set": What.CHAMBER,
        "opens": What.OPENS,
        "refused": What.REFUSED,
        "tested": What.TESTED,
        "again": What.AGAIN,
    }
    kind = kinds.get(what.removeprefix("un"))
    shown = cylinder(_laid(on), piece)
    sensible = {
        What.CHAMBER: at < len(shown.chambers) and bool(shown.chambers[at].parts),
        What.OPENS: at in {key.at for key in shown.opens},
        What.REFUSED: at in {key.at for key in shown.refused},
        What.TESTED: not done or (piece.set_up and shown.all_tried),
        What.AGAIN: True,
    }
    if kind is None or not sensible[kind]:
        return None
    return Tick(
        proof=on.job.proof.fingerprint,
        door=piece.door,
        copy=piece.copy,
        what=kind,
        at=0 if kind in (What.TESTED, What.AGAIN) else at,
        done=done,
    )


def _onward(request: Request, on: OnJob, number: int) -> Response:
    """After a cylinder: the next that is not tested, or the overview."""
    bench = _bench(on)
    later = [one for one in bench.pieces[number:] if not one.done.tested]
    following = later[0] if later else bench.following
    path = f"{on.path}/bench" + (f"/{following.number}" if following else "")
    if request.headers.get(PIECE):
        return Response(headers={GO: path})
    return go(path)


def _show(request: Request, on: OnJob, piece: Piece, at: int | None) -> Response:
    """The cylinder at a chamber; -1 = at its test; None = where the work goes on."""
    shown = cylinder(_laid(on), piece)
    bench = _bench(on)
    if at is None or at >= len(shown.chambers):
        at = shown.next_chamber if shown.next_chamber is not None else -1
    return on.page(
        "piece" if request.headers.get(PIECE) else "cylinder",
        shown=shown,
        piece=piece,
        at=at,
        onward=_after(shown, at),
        before=_before(shown, at),
        bench=bench,
        left=sum(line.needed - line.used for line in bench.parts if line.part.size),
        words=PARTS,
    )


def _after(shown: Cylinder, at: int) -> str:
    """The button that goes one on without checking off."""
    if at < 0:
        return ""
    return f"look-{at + 1}" if at + 1 < len(shown.chambers) else "test"


def _before(shown: Cylinder, at: int) -> str:
    if at < 0:
        return f"look-{len(shown.chambers) - 1}"
    return f"look-{at - 1}" if at else ""


def _bench(on: OnJob) -> Bench:
    if not on.job.proof.proved:
        raise Away(
            409,
            f"{on.job.name} is not proved, so nothing of it comes to the bench.",
            "Mend the job first; its first page says what is wrong.",
        )
    try:
        done = read(on.shelved.folder, on.job.proof.fingerprint)
    except OSError as error:
        raise Away(
            409,
            f"The check-offs cannot be read: {error.strerror or 'unknown reason'}.",
            "Make the file bench-done.jsonl in the job folder readable, then come back.",
        ) from error
    return bench_of(_laid(on), done)


def _laid(on: OnJob) -> Laid:
    """The order of the work, worked out once a job."""
    key = ("bench", on.shelved.name, on.job.proof.fingerprint, str(on.job.revision))
    return on.here.house.kept.made(key, Laid, lambda: lay_out(on.job))


def _piece(bench: Bench, number: int) -> Piece:
    if not 1 <= number <= len(bench.pieces):
        raise Away(404, "There is no cylinder of that number.", "Choose one from the bench's list.")
    return bench.pieces[number - 1]
