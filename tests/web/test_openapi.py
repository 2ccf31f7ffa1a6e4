"""Whatever fits the description of the page's addresses, and much that does not, gives no error of
the server.
"""

from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pinloom.web.app import make_app
from pinloom.web.guard import READING
from tests.web.kit import ORIGIN, Visit, visit

#: changes that are not asked at random: they start long work, or end the session
LEFT_OUT = {"/demo", "/lock", "/enter", "/job/{name}/paper"}
NAMES = ("office", "faulty", "none", "..", "")


def operations(app: Any) -> list[tuple[str, str]]:
    """Path and method of everything described."""
    described = app.openapi()
    return [
        (path, method)
        for path, methods in described["paths"].items()
        for method in methods
        if path not in LEFT_OUT or method.upper() in READING
    ]


OPERATIONS = operations(visit(Path("none")).app)


@pytest.fixture(scope="module")
def at(made_jobs: Path, tmp_path_factory: pytest.TempPathFactory) -> Visit:
    """One browser for all addresses."""
    import shutil

    folder = tmp_path_factory.mktemp("described")
    shutil.copytree(made_jobs, folder / "jobs")
    return visit(folder / "jobs", str(folder / "ledger.db")).enter()


def test_the_description_is_kept_inside(at: Visit) -> None:
    """The description is for tests: the page serves neither it nor documents that load scripts."""
    assert len(OPERATIONS) >= 5
    for path in ("/openapi.json", "/docs", "/redoc"):
        assert at.get(path).status == 404


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_no_answer_is_an_error_of_the_server(at: Visit, path: str, method: str) -> None:
    """Generated requests, with names of real jobs among them: every answer is below 500."""
    schema = schemathesis.openapi.from_dict(at.app.openapi())
    operation = schema[path][method.upper()]

    @given(case=operation.as_strategy(), name=st.sampled_from(NAMES))
    @settings(
        max_examples=12,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        derandomize=True,
        database=None,
    )
    def ask(case: Any, name: str) -> None:
        if "name" in case.path_parameters and name:
            case.path_parameters["name"] = name
        sent = case.as_transport_kwargs(base_url=ORIGIN)
        sent["headers"] = {
            **dict(sent.get("headers") or {}),
            "origin": ORIGIN,
            "x-pinloom-token": at.token,
        }
        sent.pop("cookies", None)
        if isinstance(sent.get("data"), bytes):
            sent["content"] = sent.pop("data")
        answer = at.client.request(**sent)
        assert answer.status_code < 500, f"{method} {path}"
        assert answer.status_code not in (401, 421), "the request never got to the page"

    ask()


def test_an_error_of_the_server_would_be_noticed(jobs: Path) -> None:
    """A route that breaks answers 500, so the check above can fail."""
    at = visit(jobs)

    @at.app.get("/broken")
    def broken() -> None:
        raise RuntimeError

    at.enter()
    assert at.get("/broken").status == 500
    assert make_app is not None
