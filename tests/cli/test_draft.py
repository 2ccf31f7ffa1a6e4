"""`pinloom draft` and `pinloom give-back`: exit codes, files, and the way from a building to a
proved job and back.
"""

import json
from pathlib import Path

import openpyxl
import pytest

from tests.cli.kit import Exit, run
from tests.draft.kit import book, quay
from tests.workflow.kit import KEYNOTES_BITTINGS, pinned


def test_from_a_building_to_a_job_and_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The quay is drafted, designed as drafted, proved, and its keying given back."""
    source, chart = book(tmp_path, quay()), tmp_path / "chart.xlsx"
    drafted = run(capsys, "draft", source, "--out", chart, "--by", "both", "--no-service-keys")
    assert drafted.code == Exit.DONE, drafted.err
    assert "Drafted, not designed" in drafted.out
    job = tmp_path / "job"
    designed = run(capsys, "design", chart, "--hardware", "us-6x10-015", "--out", job)
    assert designed.code == Exit.DONE, designed.out + designed.err
    back, plain = tmp_path / "back.xlsx", tmp_path / "plain.xlsx"
    given = run(capsys, "give-back", job, source, "--out", back, "--plain", plain)
    assert given.code == Exit.DONE, given.err
    rows = list(openpyxl.load_workbook(back)["Attribute"].iter_rows(min_row=2, values_only=True))
    told = {row[5]: row[6] for row in rows if row[0] == "OpenedByKeys"}
    assert told["Door 102"] == "AA, AA4, FLOOR2, TOP"
    assert len(told) == 14
    assert openpyxl.load_workbook(plain).sheetnames == ["cylinders", "keys", "about"]


def test_a_file_that_is_there_is_kept(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Somebody's edits are not written over unless that is asked for."""
    source, chart = book(tmp_path, quay()), tmp_path / "chart.xlsx"
    chart.write_bytes(b"mine")
    refused = run(capsys, "draft", source, "--out", chart)
    assert refused.code == Exit.BAD_INPUT
    assert "[draft-out-there]" in " ".join(refused.err.split())
    assert chart.read_bytes() == b"mine"
    assert run(capsys, "draft", source, "--out", chart, "--replace").code == Exit.DONE
    assert chart.read_bytes()[:2] == b"PK"


@pytest.mark.parametrize("out", ["chart.csv", "no/such/folder/chart.xlsx"])
def test_files_that_cannot_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], out: str
) -> None:
    """A draft that cannot be written is bad input, with the reason."""
    found = run(capsys, "draft", book(tmp_path, quay()), "--out", tmp_path / out)
    assert found.code == Exit.BAD_INPUT
    assert "draft-out-" in found.err


def test_figures_as_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--json` prints the figures and every finding."""
    found = run(capsys, "draft", book(tmp_path, quay()), "--out", tmp_path / "c.xlsx", "--json")
    told = json.loads(found.out)
    assert (told["doors"], told["without_cylinder"], told["by"]) == (14, 4, "zone")
    assert {one["code"] for one in told["findings"]} == {
        "draft-rooms-without-zone",
        "draft-service-same",
    }
    missing = run(capsys, "draft", tmp_path / "none.xlsx", "--out", tmp_path / "d.xlsx", "--json")
    assert missing.code == Exit.BAD_INPUT
    assert json.loads(missing.out)["findings"][0]["code"] == "draft-file-missing"


def test_an_unproved_job_stays_in_the_shop(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A job with faults is refused with the exit code of faults, a missing one as bad input."""
    source = book(tmp_path, quay())
    pinned(tmp_path, KEYNOTES_BITTINGS)
    out = tmp_path / "back.xlsx"
    refused = run(capsys, "give-back", tmp_path / "job", source, "--out", out)
    assert refused.code == Exit.FAULTS
    assert not out.exists()
    nothing = run(capsys, "give-back", tmp_path / "none", source, "--out", out)
    assert nothing.code == Exit.BAD_INPUT
