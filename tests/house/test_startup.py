"""Help shows at once, because nothing heavy is imported before a command needs it."""

import resource
import subprocess
import sys
from pathlib import Path

import pytest

LONGEST = 0.150  # seconds
PROGRAM = Path(sys.executable).with_name("pinloom")
HEAVY = ("alembic", "cryptography", "fastapi", "jinja2", "numba", "numpy", "openpyxl") + (
    *("pydantic", "pysat", "rich", "segno", "sqlalchemy", "tomlkit", "typst", "uvicorn"),
    "xlsxwriter",
)

LOADED = """
import sys
from pinloom.cli import pinloom
{more}
pinloom(["--help"], standalone_mode=False)
print("LOADED", *sorted(set(sys.modules) & set({heavy!r})))
"""


def _loaded_by_help(more: str = "") -> list[str]:
    code = LOADED.format(heavy=HEAVY, more=more)
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    return run.stdout.splitlines()[-1].split()[1:]


def test_help_imports_nothing_heavy() -> None:
    """No solver, database, web or drawing library is loaded by `pinloom --help`."""
    assert _loaded_by_help() == []


@pytest.mark.parametrize("library", ["numpy", "sqlalchemy"])
def test_a_heavy_import_is_noticed(library: str) -> None:
    """A library imported along the way is seen."""
    assert library in _loaded_by_help(f"import {library}")


def _processor_seconds() -> float:
    """Processor time of all children so far: what a start costs, however busy the machine is."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def test_help_starts_quickly() -> None:
    """The best of several starts of `pinloom --help` costs under 150 ms of processor time."""
    seconds = []
    for _ in range(12):
        start = _processor_seconds()
        subprocess.run([PROGRAM, "--help"], check=True, capture_output=True, timeout=60)
        seconds.append(_processor_seconds() - start)
        if seconds[-1] < LONGEST:
            break
    assert min(seconds) < LONGEST
