"""Given cuts of which only some are known, and refusals that come down to single keys."""

from pathlib import Path

import pytest

from tests.cli.kit import Exit, Run, run

CHART = "door,TOP,A1,A2\nF1,x,x,\nF2,x,,x\n"


def _design(capsys: pytest.CaptureFixture[str], folder: Path, chart: str, *more: object) -> Run:
    (folder / "chart.csv").write_text(chart)
    arguments = ["design", folder / "chart.csv", "--hardware", "us-6x10-015"]
    return run(capsys, *arguments, "--out", folder / "job", *more)


@pytest.mark.parametrize(
    ("keys", "named"),
    [("TOP,0990??\nA1,09????\nA2,\n", "A1"), ("TOP,\nA1,\nA2,??90??\n", "A2")],
)
def test_neighbours_that_are_given_break_macs(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, keys: str, named: str
) -> None:
    """Two given neighbours nine steps apart on hardware of MACS 7: impossible, and the key named,
    though its other cuts are free. No door takes part, so none is listed.
    """
    (tmp_path / "keys.csv").write_text("key,cuts\n" + keys)
    found = _design(capsys, tmp_path, CHART, "--keys", tmp_path / "keys.csv", "--no-remedies")
    assert found.code == Exit.IMPOSSIBLE
    assert f"the given cuts of key {named} break MACS 7" in " ".join(found.out.split())
    assert "\ndoors" not in found.out
    assert not (tmp_path / "job").exists()


def test_free_cuts_between_given_ones_keep_macs(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """0 ? 9 is no breach: the cut between may be any from 2 to 7."""
    (tmp_path / "keys.csv").write_text("key,cuts\nTOP,0?9???\nA1,\nA2,\n")
    found = _design(capsys, tmp_path, CHART, "--keys", tmp_path / "keys.csv", "--quiet")
    assert found.code == Exit.DONE


def test_one_door_is_told_as_one(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A3 has each cut of A1 or A2, which share F3: one door and three keys conflict, and the answer
    says that given cuts stay.
    """
    cuts = "key,cuts\nTOP,123456\nA1,323654\nA2,143432\nA3,323432\n"
    (tmp_path / "keys.csv").write_text(cuts)
    chart = "door,TOP,A1,A2,A3\nF1,x,x,,\nF2,x,,x,\nF3,x,x,x,\nF4,x,,,x\n"
    found = _design(capsys, tmp_path, chart, "--keys", tmp_path / "keys.csv", "--no-remedies")
    text = " ".join(found.out.split())
    assert found.code == Exit.IMPOSSIBLE
    assert "1 door and 3 keys cannot go together" in text
    assert "Given cuts stay" in text
