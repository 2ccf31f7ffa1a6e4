"""Fixtures of the page's tests: jobs made once, a browser that tells every request it makes."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from pinloom.workflow.demo import demo
from tests.web.kit import Server, Visit, serving, visit
from tests.workflow.kit import KEYNOTES_BITTINGS, pinned
from tests.workflow.tiny import tiny_job


@pytest.fixture(scope="session")
def made_jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Jobs to copy: the example, the published chart, the same with its faults, tiny hardware."""
    folder = tmp_path_factory.mktemp("made")
    work = tmp_path_factory.mktemp("work")
    made = demo(folder)
    assert made.result.job is not None
    assert pinned(work, out=folder / "office").job is not None
    assert pinned(work, KEYNOTES_BITTINGS, out=folder / "faulty").job is not None
    tiny_job(folder / "tiny", work)
    return folder


@pytest.fixture
def jobs(made_jobs: Path, tmp_path: Path) -> Path:
    """The jobs, for this test alone."""
    return Path(shutil.copytree(made_jobs, tmp_path / "jobs"))


@pytest.fixture
def outside(jobs: Path) -> Visit:
    """A browser before the locked page."""
    return visit(jobs)


@pytest.fixture
def inside(outside: Visit) -> Visit:
    """A browser in which the secret was typed."""
    return outside.enter()


@pytest.fixture(scope="session")
def server(made_jobs: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """The program, serving a copy of the jobs."""
    folder = Path(shutil.copytree(made_jobs, tmp_path_factory.mktemp("served") / "jobs"))
    with serving(folder) as running:
        yield running


@pytest.fixture
def shown(page: Page, server: Server) -> Iterator[Page]:
    """A browser inside; the test fails if any request leaves the machine or a script fails."""
    asked: list[str] = []
    wrong: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda line: wrong.append(line.text) if line.type == "error" else None)
    page.set_default_timeout(15_000)
    page.goto(server.address)
    page.get_by_label("Secret").fill(server.secret)
    page.get_by_role("button", name="Open the page").click()
    yield page
    assert asked
    assert [url for url in asked if not url.startswith(server.address)] == []
    # A refused edit is an answer, which the browser's console calls an error.
    refused = ("status of 409", "status of 422")
    assert [line for line in wrong if not any(one in line for one in refused)] == []
