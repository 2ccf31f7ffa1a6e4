"""Runs the command line inside the test and gives what a user would see."""

from dataclasses import dataclass

import pytest

from pinloom import cli
from pinloom.cli.exits import Exit

__all__ = ["Exit", "Run", "run"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """The exit code and both outputs of a command."""

    code: int
    out: str
    err: str


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> Run:
    """One command, e.g. ``run(capsys, "formats", "us-5x6-023")``."""
    capsys.readouterr()
    code = cli.run([str(argument) for argument in arguments])
    shown = capsys.readouterr()
    return Run(code=code, out=shown.out, err=shown.err)
