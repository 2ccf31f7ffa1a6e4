"""The application: the pages joined behind the guard. It is made of routers, one a kind of page.

How to add a page: a router in a module of its own that asks for ``HereNow`` or ``OnThisJob``, a
template, a line in ``ROUTERS``. What the page can do it asks of ``workflow``. Tests walk all
routes, so a change without the token or after the lock is refused there too.
"""

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from pinloom import __version__
from pinloom.web import audit, bench, chart, desk, edit, entry, fresh, home, lost, paper, trial
from pinloom.web.guard import Bound, Guard, NoToken, check_token, wants_page
from pinloom.web.here import Away, Elsewhere, Faulty, House, Setting, go, show
from pinloom.web.kept import Kept
from pinloom.web.sessions import Sessions
from pinloom.workflow.live import Looker
from pinloom.workflow.shelf import Shelf
from pinloom.workflow.wantedbook import WantedBook

ROUTERS = (
    entry.router,
    home.router,
    fresh.router,
    chart.router,
    edit.router,
    trial.router,
    bench.router,
    audit.router,
    paper.router,
    lost.router,
    desk.router,
)


def make_app(setting: Setting) -> FastAPI:
    """The page for one folder of jobs."""
    bound = Bound(hosts=setting.hosts)
    sessions = Sessions(setting.secret, setting.idle, setting.seconds)
    app = FastAPI(
        title="pinloom",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        dependencies=[Depends(check_token)],
    )
    app.state.house = House(
        setting=setting,
        bound=bound,
        sessions=sessions,
        shelf=Shelf(setting.jobs),
        kept=Kept(),
        wanted=WantedBook(),
        looker=Looker(),
    )
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(packages=[("pinloom.web", "static")]), name="static")
    _words_for_errors(app)
    app.add_middleware(
        Guard, bound=bound, sessions=sessions, refuse=_refusal, forget=app.state.house.forget
    )
    return app


def _refusal(request: Request, status: int, what: str, do: str) -> Response:
    if not wants_page(request):
        return JSONResponse({"what": what, "do": do}, status_code=status)
    session = getattr(request.state, "session", None)
    return show(request, "trouble", status, what=what, do=do, outside=session is None)


def _words_for_errors(app: FastAPI) -> None:
    """Every error is a page in words, with a way back."""

    @app.exception_handler(Away)
    def away(request: Request, error: Away) -> Response:
        return _refusal(request, error.status, error.what, error.do)

    @app.exception_handler(Elsewhere)
    def elsewhere(_: Request, error: Elsewhere) -> Response:
        return go(error.path)

    @app.exception_handler(NoToken)
    def no_token(request: Request, _: NoToken) -> Response:
        return _refusal(
            request,
            403,
            "The form is not from this session, so nothing was changed.",
            "Open the page anew and do it again.",
        )

    @app.exception_handler(Faulty)
    def faulty(request: Request, error: Faulty) -> Response:
        return show(request, "faults", 409, findings=error.findings, back="/", faulty=error.name)

    @app.exception_handler(RequestValidationError)
    def misfit(request: Request, _: RequestValidationError) -> Response:
        return _refusal(
            request,
            422,
            "Something in the address or the form is missing or is not what it should be.",
            "Go back and use the page's own buttons.",
        )

    @app.exception_handler(HTTPException)
    def other(request: Request, error: HTTPException) -> Response:
        said = {
            404: ("There is no such page.", "Start from the list of jobs."),
            405: ("That cannot be done at this address.", "Use the page's own buttons."),
        }.get(
            error.status_code,
            ("The request cannot be read.", "Go back and use the page's own buttons."),
        )
        return _refusal(request, error.status_code, *said)
