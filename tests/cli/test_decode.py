"""``pinloom decode``: exit codes, JSON without a pin, pins only when they are asked for."""

import json
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.workflow.kit import pinned, write

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """The published chart with its mended bittings, in a folder."""
    pinned(tmp_path)
    return tmp_path / "job"


def test_as_on_record(job: Path, capsys: Capture, tmp_path: Path) -> None:
    """Exit 0, also when a chamber is not known; quiet keeps the verdict."""
    pins = tmp_path / "pins"
    pins.write_text("3 4 3+2 4+2 2 1\n")
    done = run(capsys, "decode", job, "106", "--pins", f"@{pins}", "--quiet")
    assert (done.code, done.out.strip()) == (Exit.DONE, "AS ON RECORD.")
    pins.write_text("3 4 3+2 ? 2 1\n")
    done = run(capsys, "decode", job, "106", "--pins", f"@{pins}")
    assert done.code == Exit.DONE
    assert "\nAS ON RECORD, as far as it is known.\n" in done.out
    assert "Not known: chamber 4." in done.out


def test_what_differs_is_shown_on_request(job: Path, capsys: Capture, tmp_path: Path) -> None:
    """Exit 5; the chamber always, the pins with --show-cuts alone, and never in JSON."""
    pins = tmp_path / "pins"
    pins.write_text("3 4 7+2 4+2 2 1\n")
    arguments = ("decode", job, "106", "--pins", f"@{pins}")
    done = run(capsys, *arguments)
    assert done.code == Exit.FAULTS
    assert "NOT AS ON RECORD." in done.out
    assert "other pins in chamber 3" in done.out
    assert "7+2" not in done.out
    assert "7+2" in run(capsys, *arguments, "--show-cuts").out
    told = run(capsys, *arguments, "--show-cuts", "--json")
    assert told.code == Exit.FAULTS
    assert "7+2" not in told.out
    (one,) = json.loads(told.out)["cylinders"]
    assert (one["door"], one["same"], one["differs"]) == ("106", False, [3])
    assert one["blocked"] == ["cleaning", "quality", "sales"]


def test_which_door(job: Path, capsys: Capture, tmp_path: Path) -> None:
    """Without a door: the doors that have these pins, or the nearest and the key in question."""
    pins = tmp_path / "pins"
    pins.write_text("3 4 3+2 6 2 1\n")
    done = run(capsys, "decode", job, "--pins", f"@{pins}")
    assert done.code == Exit.DONE
    assert "Doors on record with these pins: 104A, 104B." in done.out
    pins.write_text("3 6 5 6 2 9\n")
    done = run(capsys, "decode", job, "--pins", f"@{pins}")
    text = " ".join(done.out.split())
    assert done.code == Exit.FAULTS
    assert "Kept out by one chamber alone: maintenance (chamber 6)." in text


def test_a_table(job: Path, capsys: Capture) -> None:
    """The job's own table is as on record, door by door."""
    done = run(capsys, "decode", job, "--pinning", job / "pinning.csv", "--quiet")
    assert (done.code, done.out.strip()) == (Exit.DONE, "8 of 8 cylinders are AS ON RECORD.")


def test_bad_input(job: Path, capsys: Capture, tmp_path: Path) -> None:
    """Neither or both ways of giving pins, unreadable pins, no job, a table that is not there."""
    table = write(tmp_path, empty="door,chamber,bottom,masters\n")["empty"]
    for arguments in (
        ("decode", job),
        ("decode", job, "--pins", "3", "--pinning", table),
        ("decode", job, "--pins", "3"),
        ("decode", tmp_path, "--pins", "3 4 3 6 2 1"),
        ("decode", job, "--pinning", tmp_path / "none.csv"),
        ("decode", job, "--pinning", table),
    ):
        done = run(capsys, *arguments)
        assert done.code == Exit.BAD_INPUT, arguments
        assert done.err
