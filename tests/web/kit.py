"""A page inside the test with a clock that the test turns, and one in a process of its own."""

import signal
import subprocess
import sys
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from fastapi import FastAPI

from pinloom.web.app import make_app
from pinloom.web.guard import TOKEN_HEADER
from pinloom.web.here import Setting

with warnings.catch_warnings():
    # It would rather have another client library; the one in the lock serves.
    warnings.simplefilter("ignore")
    from starlette.testclient import TestClient

HOST = "127.0.0.1:8440"
ORIGIN = f"http://{HOST}"
SECRET = "K7QF-03XW-9MTB-H2RD"
IDLE = 600.0
PROGRAM = Path(sys.executable).with_name("pinloom")


@dataclass
class Clock:
    """Seconds that pass only when the test says so."""

    now: float = 1000.0

    def __call__(self) -> float:
        """The time."""
        return self.now


@dataclass
class Visit:
    """A browser at the page: its client, and the page behind it."""

    client: TestClient
    app: FastAPI
    clock: Clock
    token: str = ""
    jobs: Path = field(default_factory=Path)

    def enter(self) -> "Visit":
        """Type the secret."""
        answer = self.client.post("/enter", data={"secret": SECRET}, headers={"origin": ORIGIN})
        assert answer.status_code == 303, answer.text
        page = self.client.get("/")
        self.token = page.text.split('data-token="')[1].split('"')[0]
        assert self.token
        return self

    def post(self, path: str, data: dict[str, str] | None = None, **headers: str) -> "Answer":
        """A change as the page's own forms and scripts make it."""
        sent = {"origin": ORIGIN, TOKEN_HEADER: self.token, **headers}
        found = self.client.post(path, data=data or {}, headers=sent)
        return Answer(status=found.status_code, text=found.text, headers=dict(found.headers))

    def get(self, path: str, **headers: str) -> "Answer":
        """A page."""
        found = self.client.get(path, headers=headers)
        return Answer(status=found.status_code, text=found.text, headers=dict(found.headers))


@dataclass(frozen=True)
class Answer:
    """What came back."""

    status: int
    text: str
    headers: dict[str, str]


def visit(jobs: Path, ledger: str = "") -> Visit:
    """A browser in front of the locked page of a folder of jobs."""
    clock = Clock()
    setting = Setting(
        jobs=jobs,
        hosts=(HOST, "localhost:8440"),
        secret=SECRET,
        idle=IDLE,
        seconds=clock,
        ledger=ledger,
        clerk="Desk",
    )
    app = make_app(setting)
    client = TestClient(app, base_url=ORIGIN, follow_redirects=False)
    return Visit(client=client, app=app, clock=clock, jobs=jobs)


@dataclass(frozen=True)
class Server:
    """`pinloom serve` in a process of its own."""

    address: str
    secret: str
    process: subprocess.Popen[str]


@contextmanager
def serving(jobs: Path, *more: str, env: dict[str, str] | None = None) -> Iterator[Server]:
    """Start the program as a user does, and stop it as Ctrl-C does."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # as a shell starts what runs behind it
        signal.signal(signal.SIGINT, signal.default_int_handler)
    process = subprocess.Popen(
        [PROGRAM, "serve", "--port", "0", "--jobs", jobs, *more],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=env,
    )
    try:
        yield _started(process)
    finally:
        process.terminate()
        process.wait(timeout=20)
        assert process.stdout is not None
        process.stdout.close()


def _started(process: subprocess.Popen[str]) -> Server:
    assert process.stdout is not None
    lines: list[str] = []
    while True:
        line = process.stdout.readline()
        assert line, "".join(lines)
        lines.append(line)
        if "Stop with Ctrl-C" in line:
            break
    said = "".join(lines)
    address = said.split("The page is at ")[1].split()[0]
    secret = said.split("shown once: ")[1].split()[0]
    return Server(address=address, secret=secret, process=process)
