"""``pinloom design`` on charts that counting refuses: at once, by its theorem and numbers."""

import json
from pathlib import Path

import pytest

from tests.cli.kit import Exit, Run, run

FORMAT = "us-6x10-015"


def _refuse(capsys: pytest.CaptureFixture[str], folder: Path, *words: object) -> Run:
    found = run(capsys, "design", *words, "--hardware", FORMAT, "--out", folder / "job")
    assert found.code == Exit.IMPOSSIBLE
    assert not (folder / "job").exists()
    return found


def _crossed(folder: Path, count: int) -> Path:
    path = folder / "crossed.csv"
    rows = [["door", *(f"K{k}" for k in range(count))]]
    rows += [[f"D{d}", *("" if k == d else "x" for k in range(count))] for d in range(count)]
    path.write_text("\n".join(map(",".join, rows)) + "\n")
    return path


def test_too_many_change_keys(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """6,600 change keys under one master of six chambers, five cuts each that can be told apart:
    refused by the largest family, 6,144 (C-9 of the published checks, derived).
    """
    doors, keys = tmp_path / "doors.csv", tmp_path / "keys.csv"
    doors.write_text("door,keys\n" + "".join(f"D{n},K{n}\n" for n in range(6_600)))
    keys.write_text("key,under\nTOP,\n" + "".join(f"K{n},TOP\n" for n in range(6_600)))
    found = _refuse(capsys, tmp_path, doors, "--keys", keys, "--no-remedies")
    said = " ".join(found.out.split())
    assert "6600 keys have a door of their own under TOP" in said
    assert "no more than 6144 of them fit under one master" in said
    assert "What would help" not in said


def test_keys_for_all_doors_but_one(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """25 keys that each open all doors but one: six chambers settle 24 of them. With 24 the theorem
    has nothing to say, and a design is made.
    """
    found = _refuse(capsys, tmp_path, _crossed(tmp_path, 25), "--no-remedies")
    assert "6 chambers settle 24 of them" in " ".join(found.out.split())
    assert "What would help" not in found.out
    words = ["design", _crossed(tmp_path, 24), "--hardware", FORMAT, "--out", tmp_path / "job"]
    assert run(capsys, *words, "--quiet").code == Exit.DONE


def test_remedies_unless_told_not_to(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """What would help is looked for unless that is declined; the verdict is the same."""
    chart = _crossed(tmp_path, 25)
    told = json.loads(_refuse(capsys, tmp_path, chart, "--json").out)
    bare = json.loads(_refuse(capsys, tmp_path, chart, "--json", "--no-remedies").out)
    assert told["remedies"]
    assert bare["remedies"] == []
    assert {**told, "remedies": []} == bare
