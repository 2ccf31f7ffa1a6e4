"""Each exit code of each command, in words and as JSON, quiet or not."""

import json
from pathlib import Path

import pytest

from pinloom.core.findings import fault
from pinloom.core.request import DesignOutcome, GaveUp, ProvedImpossible
from tests.cli.kit import Exit, Run, run
from tests.workflow.kit import (
    FORMAT,
    KEYNOTES_BITTINGS,
    KEYNOTES_CHART,
    MENDED_BITTINGS,
    write,
)


def _pin(capsys: pytest.CaptureFixture[str], folder: Path, bittings: str, *more: object) -> Run:
    paths = write(folder, chart=KEYNOTES_CHART, cuts=bittings)
    arguments = ["pin", paths["chart"], "--bittings", paths["cuts"], "--hardware", FORMAT]
    return run(capsys, *arguments, "--out", folder / "job", *more)


def _design(capsys: pytest.CaptureFixture[str], folder: Path, *more: object) -> Run:
    paths = write(folder, chart=KEYNOTES_CHART)
    arguments = ["design", paths["chart"], "--hardware", FORMAT, "--budget", "300"]
    return run(capsys, *arguments, "--out", folder / "job", *more)


def test_pin_done(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Sound cuts: 0, proved, files named."""
    found = _pin(capsys, tmp_path, MENDED_BITTINGS)
    assert found.code == Exit.DONE
    assert "PROVED: every key opens exactly its doors (32 pairs" in found.out
    assert "NOT PROVED" not in found.out
    assert str(tmp_path / "job") in found.out.replace("\n", "")


@pytest.mark.published
def test_pin_finds_the_faults_of_the_published_chart(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The golden example: *Keynotes*, February 2022, p. 36, printed bittings: exit 5, three faults,
    files written and marked.
    """
    found = _pin(capsys, tmp_path, KEYNOTES_BITTINGS, "--json")
    assert found.code == Exit.FAULTS
    said = json.loads(found.out)
    assert said["verdict"] == "NOT PROVED"
    assert [(one["key"], one["door"]) for one in said["faults"]] == [
        ("maintenance", "104A"),
        ("maintenance", "104B"),
        ("maintenance", "106"),
    ]
    assert said["figures"]["master_pins"] == 11
    assert "NOT-PROVED.txt" in said["files"]
    assert "345621" not in found.out


@pytest.mark.published
def test_exact_combinations_are_shown_per_door(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Same source, derived: 101: 8, 102: 1, 103: 2, 104A: 4, 104B: 4, 105: 1, 106: 8, 107: 1; the
    row of 106 has bottoms 3 4 3 4 2 1 and masters - 2 2 2 - -.
    """
    found = _pin(capsys, tmp_path, KEYNOTES_BITTINGS)
    pins = found.out.split("Pins by cylinder")[1].split("\n\n")[0].splitlines()
    rows = {cells[0]: cells[1:] for line in pins if len(cells := line.split()) == 8}
    counts = {door: cells[-1] for door, cells in rows.items() if door != "door"}
    assert counts == {
        "101": "8", "102": "1", "103": "2", "104A": "4", "104B": "4",
        "105": "1", "106": "8", "107": "1",
    }  # fmt: skip
    assert rows["106"][:-1] == ["3", "4+2", "3+2", "4+2", "2", "1"]


def test_pin_refuses_bad_input_whole(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Bad rows: 2, every fault on standard error, nothing written."""
    found = _pin(capsys, tmp_path, KEYNOTES_BITTINGS + "boss,111111\nsales,1\n")
    assert found.code == Exit.BAD_INPUT
    assert found.out == ""
    assert "cuts-key-unknown" in found.err
    assert "cuts-stamp-unreadable" in found.err
    assert "2 faults; nothing was written." in found.err
    assert not (tmp_path / "job").exists()


@pytest.mark.published
def test_design_done(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """*Keynotes*, February 2022, p. 36: 8 master pins are the least (derived); exit 0."""
    found = _design(capsys, tmp_path, "--json")
    said = json.loads(found.out)
    assert found.code == said["exit"] == Exit.DONE
    assert said["verdict"] == "PROVED"
    assert said["figures"]["master_pins"] == 8


def test_design_bad_input(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Chart, hardware, avoided job and target all at once: 2."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/notes.txt").write_text("mine")
    found = _design(
        capsys, tmp_path, "--avoid", tmp_path / "nowhere.csv", "--out", tmp_path / "mine",
        "--hardware", "us-0x0-000", "--keys", tmp_path / "nokeys.csv", "--json",
    )  # fmt: skip
    assert found.code == Exit.BAD_INPUT
    codes = {one["code"] for one in json.loads(found.out)["findings"]}
    assert {"hardware-unknown-format", "folder-not-ours", "chart-file-missing"} <= codes


def _answer(monkeypatch: pytest.MonkeyPatch, outcome: DesignOutcome) -> None:
    monkeypatch.setattr("pinloom.workflow.design.design", lambda *_: outcome)


NO = fault("cuts-key-missing", key="sales")  # any worded finding serves as the reason
IMPOSSIBLE = ProvedImpossible(
    reason=NO, doors=("104A", "104B"), keys=("maintenance", "sales"), minimal=True
)
GAVE_UP = GaveUp(steps=300, best=None, wrong=(("maintenance", "104A"), ("sales", "105")))


def test_design_impossible(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A proof that there is none: 3, the reason and the conflict in the user's names, no files."""
    _answer(monkeypatch, IMPOSSIBLE)
    found = _design(capsys, tmp_path)
    assert found.code == Exit.IMPOSSIBLE
    assert "IMPOSSIBLE" in found.out
    assert "104A, 104B" in found.out
    assert "maintenance, sales" in found.out
    assert not (tmp_path / "job").exists()
    as_json = json.loads(_design(capsys, tmp_path, "--json").out)
    assert (as_json["verdict"], as_json["exit"], as_json["minimal"]) == ("IMPOSSIBLE", 3, True)


def test_design_gave_up(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No answer within the budget: 4, never called impossible, the wrong openings by name."""
    _answer(monkeypatch, GAVE_UP)
    found = _design(capsys, tmp_path)
    assert found.code == Exit.GAVE_UP
    assert "GAVE UP: no design was found in 300 steps" in found.out
    assert "IMPOSSIBLE" not in found.out
    lines = [line.split() for line in found.out.splitlines()]
    assert ["maintenance", "104A"] in lines
    assert ["sales", "105"] in lines
    assert not (tmp_path / "job").exists()
    as_json = json.loads(_design(capsys, tmp_path, "--json").out)
    assert as_json["wrong"] == [["maintenance", "104A"], ["sales", "105"]]


@pytest.mark.parametrize("bittings", [MENDED_BITTINGS, KEYNOTES_BITTINGS])
def test_quiet_says_the_verdict_and_the_files(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, bittings: str
) -> None:
    """Nothing else, in particular no cut."""
    found = _pin(capsys, tmp_path, bittings, "--quiet")
    text = " ".join(found.out.split())
    assert "PROVED: " in text
    assert "Written to" in text
    assert len(found.out.splitlines()) <= 6
    assert "345621" not in found.out


def test_formats_done_and_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The list, one format and a user's own file: 0; an unknown name and a broken file: 2."""
    assert run(capsys, "formats").code == Exit.DONE
    assert run(capsys, "formats", "us-5x6-023").code == Exit.DONE
    own = tmp_path / "own.toml"
    own.write_text('based_on = "us-5x6-023"\nmacs = 3\n')
    found = run(capsys, "formats", own)
    assert found.code == Exit.DONE
    assert "MACS" in found.out
    assert run(capsys, "formats", "us-5x6").code == Exit.BAD_INPUT
    own.write_text('based_on = "us-5x6-023"\nmacs = "many"\n')
    broken = run(capsys, "formats", own)
    assert broken.code == Exit.BAD_INPUT
    assert "macs" in broken.err
    listed = json.loads(run(capsys, "formats", "--json").out)
    assert {"us-6x10-015", "ic-7x10-0125"} <= {one["name"] for one in listed}


def test_an_unknown_door_is_said(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """--door chooses the pinning chart; a wrong name is a caution, not a failure."""
    assert "Pinning chart: 107 " in _pin(capsys, tmp_path, MENDED_BITTINGS, "--door", "107").out
    found = _pin(capsys, tmp_path, MENDED_BITTINGS, "--door", "108")
    assert found.code == Exit.DONE
    assert "door-not-in-chart" in found.out
