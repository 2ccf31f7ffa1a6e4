"""The demo on the screen: everything a new user should see, and the next command."""

from pathlib import Path

import pytest

from tests.cli.kit import Exit, run


def test_the_demo_shows_everything(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Chart, figures, cuts, pins, parts, cautions, verdict, files, and commands that exist."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("PINLOOM_CALLED", "./dev pinloom")
    found = run(capsys, "demo")
    assert found.code == Exit.DONE
    heads = [
        "The chart as read",
        "Alder Quay, revision 1",
        "Bitting list",
        "Pins by cylinder",
        "Pinning chart",
        "Parts for the whole job",
        "Before the work",
        "PROVED: every key opens exactly its doors",
        "Written to out/alder-quay",
        "What to do next",
    ]
    places = [found.out.find(head) for head in heads]
    assert -1 not in places
    assert places == sorted(places)
    assert "  ./dev pinloom design out/alder-quay-doors.csv" in found.out
    assert max(map(len, found.out.splitlines())) <= 80
    assert {path.name for path in Path("out").iterdir()} == {
        "alder-quay",
        "alder-quay-doors.csv",
        "alder-quay-keys.csv",
    }
