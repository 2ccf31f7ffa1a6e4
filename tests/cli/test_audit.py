"""``pinloom audit``: exit codes, the promised JSON, and cuts on request only."""

import json
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.workflow.kit import KEYNOTES_BITTINGS, pinned


def test_json_of_the_golden_example(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The published bittings: exit 5, three faults, exact combinations 8 1 2 4 4 1 8 1; no cuts.

    Source: Keynotes (Associated Locksmiths of America), February 2022, printed p. 36.
    """
    pinned(tmp_path, KEYNOTES_BITTINGS)
    found = run(capsys, "audit", tmp_path / "job", "--json")
    assert found.code == Exit.FAULTS
    told = json.loads(found.out)
    assert set(told) == {"doors", "faults", "census"}
    assert all(set(one) == {"combinations", "tolerant", "issued"} for one in told["doors"].values())
    assert {door: one["combinations"] for door, one in told["doors"].items()} == {
        "101": 8,
        "102": 1,
        "103": 2,
        "104A": 4,
        "104B": 4,
        "105": 1,
        "106": 8,
        "107": 1,
    }
    assert told["faults"] == [
        ["maintenance", "104A"],
        ["maintenance", "104B"],
        ["maintenance", "106"],
    ]
    assert set(told["census"]) == {"opens"}
    opens = {int(doors): keys for doors, keys in told["census"]["opens"].items()}
    assert sum(doors * keys for doors, keys in opens.items()) == 8 + 1 + 2 + 4 + 4 + 1 + 8 + 1
    for cuts in ("345621", "365621", "343621", "345421"):
        assert cuts not in found.out


def test_a_proved_job_ends_with_done(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 0; quiet keeps the verdict alone."""
    pinned(tmp_path)
    found = run(capsys, "audit", tmp_path / "job", "--quiet")
    assert found.code == Exit.DONE
    assert found.out.strip() == "Audited: a proved job, 11,216 incidental combinations."


def test_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No job there: exit 2, in words and as JSON."""
    found = run(capsys, "audit", tmp_path)
    assert found.code == Exit.BAD_INPUT
    assert "[folder-not-a-job]" in found.err
    found = run(capsys, "audit", tmp_path, "--json")
    assert found.code == Exit.BAD_INPUT
    assert json.loads(found.out)["findings"][0]["code"] == "folder-not-a-job"


def test_pictures_that_cannot_be_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The audit is shown, and the exit code is that of bad input."""
    pinned(tmp_path)
    (tmp_path / "taken").write_text("mine")
    found = run(capsys, "audit", tmp_path / "job", "--pictures", tmp_path / "taken")
    assert found.code == Exit.BAD_INPUT
    assert "[audit-pictures-unwritable]" in found.out
    assert "Combinations that operate each door" in found.out


def test_cuts_are_shown_on_request_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The strongest incidental key's cuts, read from the library, appear with --show-cuts alone."""
    from pinloom.workflow.audit import AuditOrder, audit_folder

    pinned(tmp_path)
    job = tmp_path / "job"
    result = audit_folder(AuditOrder(folder=job))
    assert result.job is not None
    assert result.audit is not None
    secret = [
        result.job.key_format.stamp(one.levels)
        for census in result.audit.census
        for one in census.strongest
    ]
    assert secret
    plain = run(capsys, "audit", job, "--full").out
    shown = run(capsys, "audit", job, "--show-cuts").out
    assert not any(cuts in plain for cuts in secret)
    assert all(cuts in shown for cuts in secret)
    assert "confidential" in shown
