"""Given cuts of which only some are known, and refusals that come down to single keys."""

from pathlib import Path

import pytest

from pinloom import messages
from pinloom.core.findings import fault
from pinloom.design.clash import how_many
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


def test_given_cuts_that_open_are_told_with_the_keys_it_takes(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """A3 has each cut of A1 or A2, which share F3 with TOP: the three are named and TOP is not."""
    cuts = "key,cuts\nTOP,123456\nA3,323432\nA1,323654\nA2,143432\n"
    (tmp_path / "keys.csv").write_text(cuts)
    chart = "door,TOP,A1,A2,A3\nF1,x,x,,\nF2,x,,x,\nF3,x,x,x,\nF4,x,,,x\n"
    found = _design(capsys, tmp_path, chart, "--keys", tmp_path / "keys.csv", "--no-remedies")
    text = " ".join(found.out.split())
    assert found.code == Exit.IMPOSSIBLE
    assert "with the given cuts of A1, A2, key A3 opens F3 and shall not" in text
    assert "none of them can be left out of the conflict: doors F3 keys A1, A2, A3" in text


def test_a_clash_is_told_in_words_for_one_and_for_several() -> None:
    """One door, three keys; nothing is "1 doors"."""
    values = dict(how_many(1, 3))
    assert values == {"doors": "1 door", "keys": "3 keys"}
    said = messages.what(fault("design-clash", doors=values["doors"], keys=values["keys"]))
    assert said.startswith("1 door and 3 keys cannot go together on this hardware")
    assert "Given cuts stay" in said
