"""The layout on the screen and for programs."""

import json
from pathlib import Path

import pytest

from pinloom.workflow.folder import load
from tests.cli.kit import Exit, run
from tests.workflow.kit import write

GROUPS = "ABCDEF"
DOORS = "door,keys\n" + "".join(f"Berth {g}{n},A{g}{n}\n" for g in GROUPS for n in range(1, 9))
DOORS += "Slip,AA1 AB1\n"
KEYS = "key,under\nTOP,\npilot,\n" + "".join(
    f"A{g},TOP\n" + "".join(f"A{g}{n},A{g}\n" for n in range(1, 9)) for g in GROUPS
)


@pytest.fixture(scope="module")
def inputs(tmp_path_factory: pytest.TempPathFactory) -> list[object]:
    """The command for six groups of eight berths and a pilot who opens one berth of each."""
    doors = "".join(
        line.replace("1\n", "1 pilot\n") if line.startswith("Berth") else line
        for line in DOORS.splitlines(keepends=True)
    )
    paths = write(tmp_path_factory.mktemp("berths"), doors=doors, keys=KEYS)
    return ["design", paths["doors"], "--keys", paths["keys"], "--hardware", "us-6x10-015"]


def test_numbers_without_cuts(
    capsys: pytest.CaptureFixture[str], inputs: list[object], tmp_path: Path
) -> None:
    """--json counts the keys that do not follow and shows no cut."""
    found = run(capsys, *inputs, "--out", tmp_path / "job", "--json")
    assert found.code == Exit.DONE
    job = load(tmp_path / "job").job
    assert job is not None
    assert job.layout is not None
    told = json.loads(found.out)["layout"]
    assert told == {
        "masters": 7,
        "groups": 6,
        "without_layout": 0,
        "exceptions": len(job.layout.exceptions()),
    }
    assert told["exceptions"] >= 1
    assert '    "exceptions": ' in found.out
    assert not any(job.key_format.stamp(cuts) in found.out for cuts in job.bittings)


def test_words(capsys: pytest.CaptureFixture[str], inputs: list[object], tmp_path: Path) -> None:
    """The report tells every group, its next combinations, and the pilot, in 80 columns."""
    found = run(capsys, *inputs, "--out", tmp_path / "job")
    assert found.code == Exit.DONE
    job = load(tmp_path / "job").job
    assert job is not None
    assert job.layout is not None
    start = found.out.index("Layout: what keys carry")
    part = found.out[start : found.out.index("Bitting list")]
    assert max(map(len, part.splitlines())) <= 80
    for group in job.layout.groups:
        assert f"{group.master}\n" in part or f"{group.master} " in part
        assert all(job.key_format.stamp(cuts) in part for cuts in group.unused)
    assert "In no group, 1 key: pilot." in part
