"""Busy clients in processes of their own, that acknowledge on a pipe what they recorded.

An event counts as acknowledged when its line is in the pipe, which is after the commit returned.
"""

import os
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from pinloom.ledger import counter
from pinloom.ledger.database import Trouble, Where
from pinloom.ledger.store import Ledger
from pinloom.workflow.clock import now
from tests.ledger import kit

STAMPS = tuple(f"{name}-{number}" for name in kit.CUTS for number in (1, 2))
PEOPLE = ("Sailmaker", "Rigger", "Harbour office")


@dataclass(slots=True, kw_only=True)
class Rushed:
    """What came of a rush: number and hash of every acknowledged event, and refusals."""

    events: dict[int, str] = field(default_factory=dict)
    refused: int = 0

    @property
    def acknowledged(self) -> int:
        """How many events were acknowledged."""
        return len(self.events)


def busy_client(
    place: Where, seed: int, turns: int = 1_000_000, stamps: Sequence[str] = STAMPS
) -> tuple[int, int]:
    """Start a client; its process and the pipe that it writes to."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.close(read)
            _work(place, seed, turns, write, stamps)
            code = 0
        finally:
            os._exit(code)
    os.close(write)
    return child, read


def _work(place: Where, seed: int, turns: int, pipe: int, stamps: Sequence[str]) -> None:
    choices = random.Random(seed)
    ledger = Ledger.open(place, now)
    for _ in range(turns):
        stamp, person = choices.choice(stamps), choices.choice(PEOPLE)
        action = choices.choice(
            [
                partial(counter.issue, key=stamp, person=person),
                partial(counter.take_back, key=stamp),
            ]
        )
        try:
            outcome = ledger.do(action, f"client {seed}")
        except Trouble as trouble:
            if trouble.finding.code != "ledger-busy":
                raise
            continue
        lines = [f"{event.seq} {event.hash}\n" for event in outcome.events]
        os.write(pipe, "".join(lines or ["refused\n"]).encode())


def acknowledged(child: int, pipe: int) -> dict[int, str]:
    """What a client acknowledged, read to the end of its pipe; a torn last line is none."""
    return _read(child, pipe).events


def _read(child: int, pipe: int) -> Rushed:
    found = Rushed()
    with os.fdopen(pipe, "rb") as stream:
        text = stream.read().decode()
    os.waitpid(child, 0)
    for line in text.splitlines(keepends=True):
        if line == "refused\n":
            found.refused += 1
        elif line.endswith("\n"):
            seq, digest = line.split()
            found.events[int(seq)] = digest
    return found


def rush(
    place: Where, clients: int, turns: int, seed: int, stamps: Sequence[str] = STAMPS
) -> Rushed:
    """Let clients loose on one ledger, all at once, and wait for all of them."""
    started = [busy_client(place, seed * 100 + number, turns, stamps) for number in range(clients)]
    whole = Rushed()
    for child, pipe in started:
        one = _read(child, pipe)
        whole.events |= one.events
        whole.refused += one.refused
    return whole
