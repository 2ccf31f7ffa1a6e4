"""``pinloom lost``: exit code, figures as data, the doors that matter now, and its orders."""

import json
import re
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.workflow.kit import write

DOORS = "door,keys,count\n" + "".join(
    f"Loft {g}{n},A{g}{n},{2 if n == 2 else 1}\n" for g in "AB" for n in (1, 2)
)
KEYS = "key,under\nTOP,\nAA,TOP\nAB,TOP\n" + "".join(
    f"A{g}{n},A{g}\n" for g in "AB" for n in (1, 2)
)


@pytest.fixture
def job(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A designed job of two groups of two lofts; one row is two cylinders."""
    paths = write(tmp_path, doors=DOORS, keys=KEYS)
    made = run(
        capsys, "design", paths["doors"], "--keys", paths["keys"], "--hardware", "us-6x10-015",
        "--out", tmp_path / "job", "--quiet",
    )  # fmt: skip
    assert made.code == Exit.DONE
    return tmp_path / "job"


def test_a_lost_key_is_told_with_doors_and_cylinders(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The screen counts both, names the bound, never calls the urgent doors done, and says what was
    written; the orders are the owner's alone to read.
    """
    done = run(
        capsys, "lost", "AB", job, "--first", "Loft B2", "--orders", tmp_path / "orders",
        "--minutes-cylinder", 10, "--minutes-issue", 0, "--days-between", 3,
    )  # fmt: skip
    assert done.code == Exit.DONE
    assert "it opens 2 doors (3 cylinders)" in done.out
    text = " ".join(done.out.split())
    assert "No plan can take fewer than 3 cylinders or " in text
    assert "Minutes that no option gives are guesses" in text
    assert re.search(r"PROVED in every state on the way: \d plans?; plan 1 is the cheapest", text)
    assert "Only the doors that matter now" in done.out
    assert "NOT DONE: the lost key then still opens 1 door until 1 further trip is made" in text
    assert "Trip 2, day 4" in done.out
    orders = tmp_path / "orders"
    assert sorted(path.name for path in orders.iterdir()) == [
        "order-bench.pdf",
        "order-bench.xlsx",
        "order-owner.pdf",
    ]
    assert all(path.stat().st_mode & 0o077 == 0 for path in orders.iterdir())


def test_figures_as_data_add_up(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``--json`` holds the bound, every bill by its parts, and states without any cut."""
    told = run(capsys, "lost", "AA", job, "--first", "Loft A1", "--json")
    assert told.code == Exit.DONE
    figures = json.loads(told.out)
    assert figures["findings"] == []
    assert figures["cylinders"] == 3
    assert figures["urgent"]["done"] is False
    assert figures["urgent"]["exposed"] == ["Loft A2"]
    for plan in figures["plans"]:
        bill = plan["bill"]
        assert plan["minutes"] == bill["doors"] + bill["bench"] + bill["keys"] + bill["ways"]
        assert plan["minutes"] >= figures["bound"]["minutes"] == plan["least"]
        assert plan["proved"]
        assert plan["stages"][-1]["exposed"] == []
