"""``pinloom sheets``: what is written, and every exit code."""

from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.workflow.kit import KEYNOTES_BITTINGS, pinned


def test_both_sets_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A proved job: exit 0, both sets and the workbooks, and a caution that nobody approved."""
    pinned(tmp_path)
    ran = run(capsys, "sheets", tmp_path / "job", "--out", tmp_path / "paper")
    assert ran.code == Exit.DONE
    assert "sheets-not-approved" in ran.out
    names = {path.name for path in (tmp_path / "paper").iterdir()}
    assert names == {"owner.pdf", "bench.pdf", "bench.xlsx", "schedule.xlsx", "profiles-1.svg"}


def test_single_sheets_by_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two names: two PDFs and the workbook of the tabular one, nothing else."""
    pinned(tmp_path)
    ran = run(
        capsys,
        "sheets",
        tmp_path / "job",
        "--out",
        tmp_path / "paper",
        "tests",
        "hierarchy",
        "--approved-by",
        "the owner, order 14",
        "--paper",
        "letter",
        "--quiet",
    )
    assert ran.code == Exit.DONE
    assert "sheets-not-approved" not in ran.out
    names = {path.name for path in (tmp_path / "paper").iterdir()}
    assert names == {"tests.pdf", "tests.xlsx", "hierarchy.pdf"}


def test_unproved_job_ends_with_5(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The bittings as printed in *Keynotes*, February 2022, p. 36, open wrong doors: exit 5, no
    file.
    """
    pinned(tmp_path, KEYNOTES_BITTINGS)
    ran = run(capsys, "sheets", tmp_path / "job", "--out", tmp_path / "paper")
    assert ran.code == Exit.FAULTS
    assert "[sheets-not-proved]" in ran.err
    assert not (tmp_path / "paper").exists()


def test_bad_input_ends_with_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No job folder, an unknown sheet, minutes that are no number: exit 2 each, nothing written."""
    pinned(tmp_path)
    out = ("--out", tmp_path / "paper")
    assert run(capsys, "sheets", tmp_path / "none", *out).code == Exit.BAD_INPUT
    unknown = run(capsys, "sheets", tmp_path / "job", "menu", *out)
    assert unknown.code == Exit.BAD_INPUT
    assert "[sheets-no-such-sheet]" in unknown.err
    minutes = run(capsys, "sheets", tmp_path / "job", *out, "--minutes-key", "soon")
    assert minutes.code == Exit.BAD_INPUT
    assert not (tmp_path / "paper").exists()
