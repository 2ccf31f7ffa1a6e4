"""The door of the page: what may come in, and what every answer carries.

Rules, in order. Each has a test that a request breaking it is refused.
1. The name in ``Host`` is ours. A page of a stranger whose name was made to point at this machine
   (DNS rebinding) carries the stranger's name.
2. A request that another site's page makes is refused: by ``Origin`` where there is one, by
   ``Sec-Fetch-Site`` where the browser sends it; a change must carry our ``Origin``.
3. A change says how long it is, and is no longer than ``LONGEST``.
4. Without an open session only the entrance and the style sheets are served.
5. A change needs the session's token, in the form or in a header (``check_token``, which the
   application asks of every route).
6. Every answer forbids scripts, styles, pictures and connections from anywhere else, framing, and
   keeping a copy.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import quote

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pinloom.web.sessions import Session, Sessions

LONGEST = 32 * 1024 * 1024  # bytes of one change: a large chart, pasted
TOKEN_FIELD, TOKEN_HEADER = "token", "x-pinloom-token"
QUIET = "x-pinloom-quiet"  # a script asks by itself: nobody touched the page
READING = frozenset({"GET", "HEAD"})
ENTRANCE = "/enter"
OPEN = (ENTRANCE, "/static/")

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "referrer-policy": "same-origin",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """Where the page is: the names under which it may be called, with its port."""

    hosts: tuple[str, ...]

    @property
    def origins(self) -> tuple[str, ...]:
        """The origins of the page's own requests."""
        return tuple(f"http://{host}" for host in self.hosts)

    @property
    def cookie(self) -> str:
        """The cookie's name; browsers share cookies between the ports of a machine."""
        return f"pinloom-{self.hosts[0].rpartition(':')[2]}"


Refuse = Callable[[Request, int, str, str], Response]


class Guard:
    """The middleware. ``refuse`` makes the page of a refusal from a status and two sentences;
    ``forget`` drops what is kept in memory, called when no browser is open any more.
    """

    def __init__(
        self,
        app: ASGIApp,
        bound: Bound,
        sessions: Sessions,
        refuse: Refuse,
        forget: Callable[[], None],
    ) -> None:
        self._app = app
        self._bound = bound
        self._sessions = sessions
        self._refuse = refuse
        self._forget = forget

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        request = Request(scope, receive)
        started = False

        async def dressed(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                _dress(message, request.url.path)
            await send(message)

        answer = self._stranger(request) or self._locked_out(request)
        if answer is not None:
            await answer(scope, receive, dressed)
            return
        try:
            await self._app(scope, receive, dressed)
        except Exception as error:  # noqa: BLE001 - the last door: whatever comes here is a bug
            _confess(error)
            if not started:
                sorry = self._refuse(
                    request,
                    500,
                    "This is a bug in the program; your input is not to blame.",
                    "Nothing was changed after this point. Go back and try another way, and report "
                    "it without any cuts.",
                )
                await sorry(scope, receive, dressed)

    def _stranger(self, request: Request) -> Response | None:
        """Rules 1 to 3."""
        headers = request.headers
        hosts = headers.getlist("host")
        if len(hosts) != 1:
            return self._refuse(request, 400, *_NO_HOST)
        if hosts[0] not in self._bound.hosts:
            return self._refuse(request, 421, *_OTHER_HOST)
        reading = request.method in READING
        if not _own(headers, self._bound.origins, reading=reading):
            return self._refuse(request, 403, *_OTHER_SITE)
        if reading:
            return None
        length = headers.get("content-length", "")
        if not length.isdecimal() or "transfer-encoding" in headers:
            return self._refuse(request, 411, *_NO_LENGTH)
        if int(length) > LONGEST:
            return self._refuse(request, 413, *_TOO_LONG)
        return None

    def _locked_out(self, request: Request) -> Response | None:
        """Rule 4; an open session goes with the request."""
        mark = request.cookies.get(self._bound.cookie, "")
        touched = QUIET not in request.headers
        session = self._sessions.find(mark, touched=touched) if mark else None
        request.state.session = session
        request.state.mark = mark
        if session is None and not self._sessions.any_open():
            self._forget()
        path = request.url.path
        if session is not None or path == ENTRANCE or path.startswith(OPEN[1]):
            return None
        if request.method in READING and wants_page(request):
            where = f"{ENTRANCE}?next={quote(path)}" if path != "/" else ENTRANCE
            return RedirectResponse(where, status_code=303)
        return self._refuse(request, 401, *_LOCKED)


def wants_page(request: Request) -> bool:
    """Whether a person will read the answer; our scripts ask for JSON."""
    return "application/json" not in request.headers.get("accept", "")


async def check_token(request: Request) -> None:
    """Rule 5, asked of every route. The entrance has no session yet, and so no token."""
    if request.method in READING or request.url.path == ENTRANCE:
        return
    session: Session | None = request.state.session
    given = request.headers.get(TOKEN_HEADER, "")
    if not given and "form" in request.headers.get("content-type", ""):
        value = (await request.form()).get(TOKEN_FIELD)
        given = value if isinstance(value, str) else ""
    if session is None or not _same(given, session.token):
        raise NoToken


class NoToken(Exception):
    """A change without the session's token."""


def _same(one: str, other: str) -> bool:
    from hmac import compare_digest

    return compare_digest(one.encode(), other.encode())


def _own(headers: Headers, origins: tuple[str, ...], *, reading: bool) -> bool:
    origin = headers.get("origin")
    if origin is not None and origin not in origins:
        return False
    if not reading and origin is None:
        return False
    site = headers.get("sec-fetch-site")
    if site in (None, "same-origin", "none"):
        return True
    # A link on another page may lead here, but without the cookie (SameSite=Strict).
    return reading and headers.get("sec-fetch-mode") == "navigate"


def _dress(message: Message, path: str) -> None:
    headers = MutableHeaders(scope=message)
    for name, value in HEADERS.items():
        headers.setdefault(name, value)
    headers["cache-control"] = "no-cache" if path.startswith(OPEN[1]) else "no-store"


def _confess(error: Exception) -> None:
    """Say in the terminal where the bug is, never a value: it might be a cut."""
    where = "an unknown place"
    trace = error.__traceback__
    while trace is not None:
        name = str(trace.tb_frame.f_globals.get("__name__", ""))
        if name.startswith("pinloom"):
            where = f"{name}, line {trace.tb_lineno}"
        trace = trace.tb_next
    sys.stderr.write(f"pinloom: a bug in the program ({type(error).__name__} in {where}).\n")


_NO_HOST = (
    "The request does not say whom it is for.",
    "Use the address that the terminal shows.",
)
_OTHER_HOST = (
    "This page answers under its own address only.",
    "Use the address that the terminal shows.",
)
_OTHER_SITE = (
    "Another site's page made this request, so it was refused.",
    "Close that page. Open this one by typing the address that the terminal shows.",
)
_NO_LENGTH = (
    "The request does not say how long it is.",
    "Use a browser on this machine.",
)
_TOO_LONG = (
    "That is more than the page takes in one piece.",
    "Use the command line for a file of this size.",
)
_LOCKED = (
    "The page is locked.",
    "Type the secret that the terminal shows, then do it again; nothing was changed.",
)
