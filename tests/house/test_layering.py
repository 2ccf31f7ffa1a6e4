"""The import rule holds, and the guard that says so notices every way of breaking it."""

from pathlib import Path

import pytest

from pinloom import messages
from tests.house import imports

SOURCE = Path(__file__).parents[2] / "src" / "pinloom"
LONGEST_MODULE = 450  # about 400 lines is where a module starts to do a second thing


def test_package_keeps_the_import_rule() -> None:
    """No module of the package breaks a rule of the house."""
    modules = imports.read_package(SOURCE)
    assert "pinloom.core.chart" in modules
    assert [str(breach) for breach in imports.breaches(modules)] == []


def test_every_package_has_a_rule() -> None:
    """A new package under pinloom must be given a place in the rule before it can pass."""
    packages = {path.parent.name for path in SOURCE.glob("*/__init__.py")}
    assert packages <= imports.MAY_IMPORT.keys()


def test_every_stage_has_wording() -> None:
    """The stages of the import rule are the areas for which wording is kept, with the two joins."""
    assert set(messages.STAGES) == imports.STAGES | {"web", "workflow"}


def test_modules_are_short() -> None:
    """No module is longer than a person reads in one sitting."""
    lengths = {name: text.count("\n") for name, text in imports.read_package(SOURCE).items()}
    assert {name: n for name, n in lengths.items() if n > LONGEST_MODULE} == {}


@pytest.mark.parametrize(
    ("module", "text", "rule"),
    [
        ("pinloom.proof.lift", "from pinloom.design import search", "proof imports design"),
        ("pinloom.proof.lift", "import pinloom.pinning.stacks", "proof imports pinning"),
        ("pinloom.proof", "from pinloom import pinning", "proof imports pinning"),
        ("pinloom.audit.count", "def f():\n    import pinloom.proof", "audit imports proof"),
        ("pinloom.core.chart", "from pinloom.chart.matrix import read", "core imports chart"),
        ("pinloom.core.chart", "from pathlib import Path", "core imports pathlib"),
        ("pinloom.sheets.paper", "import pinloom.messages as m", "sheets imports messages"),
        ("pinloom.workflow.design", "import pinloom.web.app", "workflow imports web"),
        ("pinloom.cli.design", "from pinloom.design import design", "cli imports design"),
        ("pinloom.web.app", "import pinloom.ledger", "web imports ledger"),
        ("pinloom.sheets.paper", "import pinloom.vault", "sheets imports vault"),
        ("pinloom.vault.box", "import pinloom.ledger", "vault imports ledger"),
        ("pinloom.ledger.store", "import cryptography.fernet", "ledger imports cryptography"),
        ("pinloom.messages.chart", "import pinloom.chart", "messages imports chart"),
        ("pinloom.growth.plan", "from pysat.solvers import Solver", "growth imports pysat"),
        ("pinloom.workflow.keys", "import sqlalchemy.orm", "workflow imports sqlalchemy"),
        ("pinloom.sheets.paper", "import sqlite3", "sheets imports sqlite3"),
        ("pinloom.workflow.serve", "import fastapi", "workflow imports fastapi"),
        ("pinloom.web.app", "from urllib.request import urlopen", "web imports urllib.request"),
        ("pinloom.proof.lift", "from . import speed", "relative import"),
        (
            "pinloom.proof.lift",
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import pinloom.design",
            "proof imports design",
        ),
    ],
)
def test_a_breach_is_noticed(module: str, text: str, rule: str) -> None:
    """One module with one forbidden import gives that one breach."""
    assert [breach.rule for breach in imports.breaches({module: text})] == [rule]


def test_a_second_solver_module_is_noticed() -> None:
    """The solver may be imported in one module, not in two."""
    use = "from pysat.solvers import Solver"
    one = {"pinloom.design.solver": use}
    assert imports.breaches(one) == []
    both = imports.breaches({**one, "pinloom.design.cores": use})
    assert {breach.module for breach in both} == {"pinloom.design.solver", "pinloom.design.cores"}


@pytest.mark.parametrize(
    "read",
    [
        "import time\ntime.time()",
        "from time import monotonic",
        "import datetime\ndatetime.datetime.now()",
        "from datetime import date\ndate.today()",
    ],
)
def test_a_second_clock_is_noticed(read: str) -> None:
    """The clock may be read in one module, not in two, whatever the spelling."""
    one = {"pinloom.workflow.clock": "import time\nNOW = time.time"}
    assert imports.breaches(one) == []
    both = imports.breaches({**one, "pinloom.sheets.paper": read})
    assert {breach.module for breach in both} == {"pinloom.workflow.clock", "pinloom.sheets.paper"}


def test_permitted_imports_pass() -> None:
    """The imports that the rule allows are not breaches."""
    allowed = {
        "pinloom.proof.lift": "import numpy\nfrom pinloom.core.stacks import PinStack",
        "pinloom.proof.index": "from pinloom import __version__\nimport pinloom.proof.lift",
        "pinloom.workflow.design": "from pinloom import chart, design, messages, proof",
        "pinloom.cli.serve": "import click\nfrom pinloom.web import app\nimport pinloom.workflow",
        "pinloom.ledger.store": "import sqlalchemy\nfrom datetime import datetime",
    }
    assert imports.breaches(allowed) == []
