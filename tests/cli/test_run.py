"""The last door of the command line: exit codes, bugs told without secrets, help at once."""

import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from pinloom import cli
from tests.cli.kit import Exit, run
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, KEYNOTES_CHART, write


def test_wrong_arguments_are_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    """Unknown commands and options, missing and impossible values: 2, with a word about it."""
    for arguments in (
        ["sing"],
        ["design"],
        ["design", "x.csv", "--hardware", "us-5x6-023"],
        ["design", "x.csv", "--hardware", "h", "--out", "o", "--prefer", "gold"],
        ["design", "x.csv", "--hardware", "h", "--out", "o", "--seed", "-1"],
        ["formats", "--loud"],
    ):
        found = run(capsys, *arguments)
        assert found.code == Exit.BAD_INPUT, arguments
        assert "Usage: pinloom" in found.err
        assert "Traceback" not in found.err


def test_help_and_version_are_done(capsys: pytest.CaptureFixture[str]) -> None:
    """Help of the program and of each command ends with 0 and fits 80 columns."""
    for arguments in (["--help"], ["--version"], *([name, "--help"] for name in cli.COMMANDS)):
        found = run(capsys, *arguments)
        assert found.code == Exit.DONE, arguments
        assert max(map(len, found.out.splitlines())) <= 80


def _break(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr("pinloom.workflow.formats.all_formats", broken)


def test_a_bug_is_told_without_trace_or_values(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An exception is a bug: exit 1, its kind and place; its text might hold a cut."""
    _break(monkeypatch, KeyError("345621"))
    found = run(capsys, "formats")
    assert found.code == Exit.BUG
    assert "a bug in the program (KeyError in " in found.err
    assert "345621" not in found.err + found.out
    assert "Traceback" not in found.err


def test_a_bug_shows_its_trace_on_request(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With PINLOOM_DEBUG the whole trace comes first."""
    monkeypatch.setenv("PINLOOM_DEBUG", "1")
    _break(monkeypatch, KeyError("345621"))
    found = run(capsys, "formats")
    assert found.code == Exit.BUG
    assert "Traceback" in found.err
    assert "KeyError: '345621'" in found.err


def test_stopping_by_hand_is_no_bug(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C ends with the shell's code for it and says that nothing more was written."""
    _break(monkeypatch, KeyboardInterrupt())
    found = run(capsys, "formats")
    assert found.code == Exit.STOPPED
    assert "Stopped" in found.err


def test_a_closed_pipe_does_not_change_the_answer(tmp_path: Path) -> None:
    """A reader that goes away at once: still exit 5, the files are written, no trace."""
    paths = write(tmp_path, chart=KEYNOTES_CHART, cuts=KEYNOTES_BITTINGS)
    command = [sys.executable, "-m", "pinloom", "pin", str(paths["chart"])]
    command += ["--bittings", str(paths["cuts"]), "--hardware", FORMAT, "--out", "job"]
    read, write_end = os.pipe()
    os.close(read)
    try:
        done = subprocess.run(
            command, cwd=tmp_path, stdout=write_end, stderr=subprocess.PIPE, check=False, timeout=60
        )
    finally:
        os.close(write_end)
    assert done.returncode == Exit.FAULTS
    assert done.stderr == b""
    assert (tmp_path / "job/job.json").is_file()


def test_commands_are_imported_only_when_called() -> None:
    """Showing the help imports no command, no solver, no screen."""
    code = (
        "import sys\nfrom pinloom import cli\ncli.run(['--help'])\n"
        "heavy = [m for m in ('rich', 'numpy', 'pydantic', 'pysat', 'pinloom.workflow', "
        "'pinloom.cli.design') if m in sys.modules]\nassert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, timeout=60)


def test_every_command_is_a_click_command() -> None:
    """The table leads to commands, and to no others."""
    context = click.Context(cli.pinloom)
    for name in cli.COMMANDS:
        assert isinstance(cli.pinloom.get_command(context, name), click.Command)
    assert cli.pinloom.get_command(context, "sing") is None
