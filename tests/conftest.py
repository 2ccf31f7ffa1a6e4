"""Fixtures that every test may use, and the words at the end of a run about what was skipped.

- `postgres_url`: a SQLAlchemy URL of a new, empty PostgreSQL database, for this test alone.
- `page`, `browser`, ... of pytest-playwright, on the machine's own Chromium.
A test that uses one of them, or is marked `browser` or `postgres`, is skipped where the machine has
none; with `PINLOOM_REQUIRE=browser,postgres` it fails instead.
"""

import os
from collections import Counter
from collections.abc import Iterator
from itertools import count
from typing import Any

import hypothesis
import pytest

from tests import machine

hypothesis.settings.register_profile(
    "pinloom", derandomize=True, deadline=None, database=None, print_blob=True
)
hypothesis.settings.load_profile("pinloom")

_NEEDS_BY_FIXTURE = {
    "browser": machine.BROWSER,
    "page": machine.BROWSER,
    "context": machine.BROWSER,
    "postgres_url": machine.POSTGRES,
}
_database_numbers = count(1)


def needs_of(item: pytest.Item) -> list[str]:
    """What one test needs of the machine, by its marks and fixtures, in a fixed order."""
    names = {mark.name for mark in item.iter_markers()} & machine.REMEDIES.keys()
    fixtures = getattr(item, "fixturenames", ())
    return sorted(names | {_NEEDS_BY_FIXTURE[f] for f in fixtures if f in _NEEDS_BY_FIXTURE})


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip or fail a test whose needs the machine does not meet."""
    for need in needs_of(item):
        if not machine.missing(need):
            continue
        if need in machine.required():
            pytest.fail(f"PINLOOM_REQUIRE={need}, but {machine.REMEDIES[need]}", pytrace=False)
        pytest.skip(machine.REMEDIES[need])


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say plainly what was not run here, and how to get it."""
    reasons: Counter[str] = Counter()
    for report in terminalreporter.stats.get("skipped", []):
        where = report.longrepr
        text = where[2] if isinstance(where, tuple) else str(where)
        reasons[text.removeprefix("Skipped: ")] += 1
    if not reasons:
        terminalreporter.write_line("Everything was run; this machine lacks nothing.")
        return
    terminalreporter.section("not run on this machine")
    for reason, times in sorted(reasons.items()):
        terminalreporter.write_line(f"{times} test{'s' if times > 1 else ''} skipped: {reason}")


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """Launch the machine's own Chromium, headless, without calls to the outside."""
    return {
        **browser_type_launch_args,
        "executable_path": machine.chromium(),
        "args": list(machine.CHROMIUM_FLAGS),
    }


@pytest.fixture(scope="session")
def postgres() -> Iterator[machine.PostgresServer]:
    """One PostgreSQL server a test process."""
    named = os.environ.get("PINLOOM_POSTGRES")
    if named:
        head, _, tail = named.partition("?")
        base = head.rsplit("/", 1)[0] + "/{}" + (f"?{tail}" if tail else "")
        yield machine.PostgresServer(base=base)
        return
    with machine.postgres_server() as server:
        yield server


@pytest.fixture
def postgres_url(postgres: machine.PostgresServer) -> Iterator[str]:
    """The SQLAlchemy URL of a new, empty database; dropped after the test."""
    import psycopg

    name = f"pinloom_test_{os.getpid()}_{next(_database_numbers)}"
    admin = postgres.url("postgres").replace("+psycopg", "", 1)
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    yield postgres.url(name)
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(f'DROP DATABASE "{name}" WITH (FORCE)')
