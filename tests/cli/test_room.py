"""Room on the command line: asked for, shown, refused with what fits; cuts on request alone."""

import json
import re
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.workflow.roomkit import tiny_format

DOORS = "door,keys\nLoft 1,A1\nLoft 2,A2\nShed,B1\n"
KEYS = "key,under,room\nTOP,,\nAA,TOP,\nNORTH SHED,TOP,\nA1,AA,\nA2,AA,\nB1,NORTH SHED,\n"


@pytest.fixture
def chart(tmp_path: Path) -> list[object]:
    """Two groups under a top master, as the words of a command."""
    doors, keys = tmp_path / "doors.csv", tmp_path / "keys.csv"
    doors.write_text(DOORS, encoding="utf-8")
    keys.write_text(KEYS, encoding="utf-8")
    return ["design", doors, "--keys", keys]


def test_room_is_kept_and_shown(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, chart: list[object]
) -> None:
    """The table of the design, the line of `room`, quiet and JSON; cuts on request alone."""
    job = tmp_path / "job"
    words = [*chart, "--hardware", "us-5x6-023", "--out", job, "--room", "NORTH SHED=30"]
    made = run(capsys, *words)
    assert made.code == Exit.DONE
    said = " ".join(made.out.split())
    assert "NORTH SHED 1 30 30 30 yes" in said
    assert "AA 2 30% (usual) 1 yes" in said
    assert "common practice, no source" in said
    record = json.loads((job / "job.json").read_bytes())["job"]
    depths = [depth["stamped"] for depth in record["formats"][0]["depths"]]
    stamped = ["".join(depths[level] for level in cut) for cut in record["kept"][0]["cuts"]]
    assert not any(cut in made.out for cut in stamped)
    plain = run(capsys, "room", job)
    assert re.search(r"NORTH SHED +1 +30 +30 ", plain.out)
    assert not any(cut in plain.out for cut in stamped)
    quiet = run(capsys, "room", job, "--under", "NORTH SHED", "--quiet").out
    assert quiet.startswith("NORTH SHED: 30 asked, 30 kept; ")
    assert len(quiet.splitlines()) == 1
    told = json.loads(run(capsys, "room", job, "--json").out)["rooms"]
    assert [one.get("next") for one in told] == [None, None, None]
    words = ["room", job, "--json", "--show-cuts", "30", "--under", "NORTH SHED"]
    (north,) = json.loads(run(capsys, *words).out)["rooms"]
    assert (north["asked"], north["kept"]) == (30, 30)
    assert north["next"] == stamped
    shown = run(capsys, "room", job, "--show-cuts", "2", "--under", "NORTH SHED").out
    assert f"kept: {north['next'][0]}, {north['next'][1]}" in shown


def test_json_of_a_design_tells_room(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, chart: list[object]
) -> None:
    """Groups with their wish, and none with --room 0."""
    words = [*chart, "--hardware", "us-5x6-023", "--json"]
    usual = json.loads(run(capsys, *words, "--out", tmp_path / "a").out)
    assert usual["room"]["groups"] == [
        {
            "under": name,
            "keys": keys,
            "wish": "30%",
            "wanted": 1,
            "kept": 0,
            "found": 1,
            "usual": True,
        }
        for name, keys in (("AA", 2), ("NORTH SHED", 1))
    ]
    none = json.loads(run(capsys, *words, "--out", tmp_path / "b", "--room", "0").out)
    assert none["room"] == {"groups": []}


def test_too_much_room_is_impossible(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, chart: list[object]
) -> None:
    """Exit 3, the theorem, the words, and how much fits; at once with --no-remedies."""
    hardware = tiny_format(tmp_path, 3, 4)
    words = [*chart, "--hardware", hardware, "--out", tmp_path / "job", "--budget", "100"]
    found = run(capsys, *words, "--room", "NORTH SHED=60", "--quiet")
    assert found.code == Exit.IMPOSSIBLE
    said = " ".join(found.out.split())
    assert "IMPOSSIBLE with the room asked for: " in said
    assert 'The chart alone has a design, and so it has with --room "NORTH SHED=' in said
    assert not (tmp_path / "job").exists()
    told = json.loads(run(capsys, *words, "--room", "NORTH SHED=60", "--json").out)
    assert told["verdict"] == "IMPOSSIBLE"
    assert 0 < told["room"]["fits"]["NORTH SHED"] < 27
    bare = run(capsys, *words, "--room", "NORTH SHED=60", "--no-remedies", "--quiet")
    assert "The chart alone has a design." in " ".join(bare.out.split())
