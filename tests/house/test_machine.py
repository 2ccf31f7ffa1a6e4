"""The fixtures for a browser and a database work, and a missing one never passes in silence."""

import os
import subprocess
import sys
from pathlib import Path

import psycopg
import pytest
from playwright.sync_api import Page

from tests import machine

ROOT = Path(__file__).parents[2]

ONE_OF_EACH = '''
import pytest

@pytest.mark.browser
def test_b():
    """Needs a browser."""

@pytest.mark.postgres
def test_p():
    """Needs a server."""
'''


def test_database_is_new_and_usable(postgres_url: str) -> None:
    """`postgres_url` leads to an empty database that takes a table."""
    with psycopg.connect(postgres_url.replace("+psycopg", "", 1)) as connection:
        tables = connection.execute(
            "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
        ).fetchone()
        connection.execute("CREATE TABLE keys (name text)")
    assert tables == (0,)


def test_browser_renders(page: Page) -> None:
    """`page` is a live page of the machine's Chromium."""
    page.set_content("<h1>Alder Quay</h1>")
    assert page.get_by_role("heading").inner_text() == "Alder Quay"


def _run_on_a_bare_machine(tmp_path: Path, require: str) -> subprocess.CompletedProcess[str]:
    """Run two tests, one a need, on a machine that seems to have neither; gives the run."""
    bare = (
        "import tests.machine as m\nm.missing = lambda need: True\nfrom tests.conftest import *\n"
    )
    (tmp_path / "conftest.py").write_text(bare)
    (tmp_path / "test_needs.py").write_text(ONE_OF_EACH)
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers =\n    browser: b\n    postgres: p\n")
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", str(tmp_path)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PINLOOM_REQUIRE": require}
        | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_skips_are_told_with_their_remedy(tmp_path: Path) -> None:
    """Where the machine lacks something the run passes, and its end says what and how to get it."""
    run = _run_on_a_bare_machine(tmp_path, "")
    assert run.returncode == 0, run.stdout + run.stderr
    assert "not run on this machine" in run.stdout
    for remedy in machine.REMEDIES.values():
        assert f"1 test skipped: {remedy}" in run.stdout


@pytest.mark.parametrize("need", sorted(machine.REMEDIES))
def test_required_and_missing_is_a_failure(tmp_path: Path, need: str) -> None:
    """With PINLOOM_REQUIRE a missing need fails its test, and only its test."""
    run = _run_on_a_bare_machine(tmp_path, need)
    assert run.returncode == 1
    assert f"PINLOOM_REQUIRE={need}, but {machine.REMEDIES[need]}" in run.stdout
    assert "1 skipped, 1 error" in run.stdout


def test_unknown_requirement_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A misspelt requirement cannot switch the check off."""
    monkeypatch.setenv("PINLOOM_REQUIRE", "postgress")
    with pytest.raises(ValueError, match="postgress"):
        machine.required()
