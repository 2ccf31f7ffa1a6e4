"""The entrance: where the secret is typed, and the lock."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import JSONResponse, Response

from pinloom.web.guard import ENTRANCE
from pinloom.web.here import HereNow, House, go, show

router = APIRouter()


def _way(text: str) -> str:
    """Where to go after the entrance: a path of ours, or the first page."""
    inside = text.startswith("/") and not text.startswith(("//", "/\\", ENTRANCE, "/lock"))
    return text if inside and text.isprintable() else "/"


@router.get("/enter")
def ask(request: Request, next: str = "/") -> Response:  # noqa: A002 - the word in the address
    """The form for the secret."""
    return show(request, "enter", way=_way(next), wrong="")


@router.post("/enter")
def enter(
    request: Request,
    secret: Annotated[str, Form(max_length=200)] = "",
    next: Annotated[str, Form(max_length=2000)] = "/",  # noqa: A002
) -> Response:
    """Let a browser in that sends the secret."""
    house: House = request.app.state.house
    pause = house.sessions.pause()
    mark = house.sessions.enter(secret)
    if mark is None:
        wrong = "That is not the secret. It stands in the terminal in which pinloom was started."
        if pause > 0:
            wrong = f"Too many wrong secrets. Wait {pause:.0f} seconds, then type it again."
        return show(request, "enter", 403, way=_way(next), wrong=wrong)
    answer = go(_way(next))
    answer.set_cookie(house.bound.cookie, mark, path="/", httponly=True, samesite="strict")
    return answer


@router.post("/lock")
def lock(here: HereNow) -> Response:
    """Lock this browser; whoever comes next needs the secret."""
    here.house.sessions.leave(here.request.state.mark)
    if not here.house.sessions.any_open():
        here.house.forget()
    answer = go(ENTRANCE)
    answer.delete_cookie(here.house.bound.cookie, path="/", httponly=True, samesite="strict")
    return answer


@router.post("/awake")
def awake(here: HereNow) -> JSONResponse:
    """Somebody is working at the page: it stays open. Nothing is changed."""
    return JSONResponse({"idle": here.house.setting.idle})
