"""Who may see the page: one secret, and the browsers in which it was typed.

Rules. The secret is made when the page starts, shown in the terminal and nowhere else, and typed
into a form: it never stands in an address. A browser that typed it holds a random mark in a cookie
that no script can read. Each has a token of its own that every change must carry, so that another
page cannot make the browser act. After idle time the mark is worthless and whatever passphrases
of sealed jobs it had are forgotten.

Wrong secrets: the secret has 80 bits, so guessing is hopeless; a growing pause keeps a faulty
script from filling the machine.
"""

import hmac
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import sha256

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # no I, L, O, U: they are misread
GROUPS, GROUP = 4, 4
MOST = 16  # browsers at a time
FREE_TRIES = 5
LONGEST_PAUSE = 60.0  # seconds

_MISREAD = str.maketrans({"I": "1", "L": "1", "O": "0", " ": None, "-": None, "\t": None})


def new_secret() -> str:
    """A secret to read aloud: four groups of four signs, 80 bits."""
    groups = ("".join(secrets.choice(SIGNS) for _ in range(GROUP)) for _ in range(GROUPS))
    return "-".join(groups)


def plain(text: str) -> str:
    """A secret as it is compared: without case and blanks, misread signs set right."""
    return text.strip().upper().translate(_MISREAD)


@dataclass(slots=True, kw_only=True)
class Session:
    """One browser that typed the secret."""

    token: str  # what every change must carry
    seen: float  # seconds of the steady clock
    passphrases: dict[str, str] = field(default_factory=dict)  # of sealed jobs, by folder name


class Sessions:
    """All of them. ``seconds`` is a steady clock; ``idle`` in seconds. Safe for threads."""

    def __init__(self, secret: str, idle: float, seconds: Callable[[], float]) -> None:
        self.idle = idle
        self._digest = _digest(secret)
        self._seconds = seconds
        self._open: dict[str, Session] = {}
        self._wrong = 0
        self._again = 0.0
        self._guard = threading.Lock()

    def enter(self, text: str) -> str | None:
        """The mark of a new session, or None for a wrong secret or one typed too soon."""
        with self._guard:
            now = self._seconds()
            if now < self._again:
                return None
            if not hmac.compare_digest(self._digest, _digest(text)):
                self._wrong += 1
                if self._wrong >= FREE_TRIES:
                    pause = min(LONGEST_PAUSE, 2.0 ** (self._wrong - FREE_TRIES))
                    self._again = now + pause
                return None
            self._wrong = 0
            while len(self._open) >= MOST:
                del self._open[min(self._open, key=lambda mark: self._open[mark].seen)]
            mark = secrets.token_urlsafe(32)
            self._open[_name(mark)] = Session(token=secrets.token_urlsafe(32), seen=now)
            return mark

    def pause(self) -> float:
        """Seconds until a secret is looked at again."""
        with self._guard:
            return max(0.0, self._again - self._seconds())

    def find(self, mark: str, *, touched: bool = True) -> Session | None:
        """The session of a mark, if it was not idle for too long; ``touched`` = a person asked, so
        it counts as seen now.
        """
        with self._guard:
            now = self._seconds()
            session = self._open.get(_name(mark))
            if session is None:
                return None
            if now - session.seen > self.idle:
                del self._open[_name(mark)]
                return None
            if touched:
                session.seen = now
            return session

    def leave(self, mark: str) -> None:
        """Lock the browser of a mark."""
        with self._guard:
            self._open.pop(_name(mark), None)

    def any_open(self) -> bool:
        """Whether any browser may still see the page."""
        with self._guard:
            now = self._seconds()
            return any(now - one.seen <= self.idle for one in self._open.values())


def _digest(text: str) -> bytes:
    return sha256(plain(text).encode()).digest()


def _name(mark: str) -> str:
    """Marks are kept as digests, so that looking one up tells nothing by its time."""
    return sha256(mark.encode()).hexdigest()
