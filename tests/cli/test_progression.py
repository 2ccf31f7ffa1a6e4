"""``pinloom progression``: every exit code it has, and what it shows."""

import json
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run

FORMAT = "ic-6x10-0125"


def test_array_and_list(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The array by a house's rows, counts and the keys asked for; the secret stays in its file."""
    # Array: *5402 Series Technical Manual*, p. 3-19.
    (tmp_path / "top").write_text("528614\n")
    (tmp_path / "rows").write_text("742836\n304052\n186290\n960478\n")
    words = ["progression", f"@{tmp_path / 'top'}", "--hardware", FORMAT]
    words += ["--row", f"@{tmp_path / 'rows'}", "--list", "3", "--from", "2"]
    found = run(capsys, *words)
    assert found.code == Exit.DONE
    assert "Total position progression (confidential)" in found.out
    assert "4,096" in found.out
    assert "742832  742830  742838" in found.out
    assert "7 3 1 9" in found.out
    told = json.loads(run(capsys, *words, "--json").out)
    assert told["list"] == ["742832", "742830", "742838"]
    assert told["array"][0] == ["7", "3", "1", "9"]


def test_methods(capsys: pytest.CaptureFixture[str]) -> None:
    """Constants give a partial progression, rotation the third method, each with its count."""
    base = ["progression", "528614", "--hardware", FORMAT, "--json"]
    partial = json.loads(run(capsys, *base, "--constant", 1, "--constant", 2).out)
    assert (partial["method"], partial["keys"]) == ("partial position progression", 4**4)
    rotating = json.loads(run(capsys, *base, "--rotate", 4).out)
    assert (rotating["method"], rotating["keys"]) == ("rotating constants", 15 * 4**2)
    assert [one["code"] for one in rotating["findings"]].count("secret-in-history") == 1


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["52861"], "progression-cuts"),
        (["52861?"], "progression-cuts"),
        (["528614", "--constant", "7"], "progression-no-chamber"),
        (["528614", "--order", "1"], "progression-order"),
        (["528614", "--rotate", "6"], "progression-nothing-moves"),
        (["528614", "--row", "742835"], "progression-column"),
        (["528614", "--row", "742836", "--row", "742836"], "progression-column"),
    ],
)
def test_bad_wishes(capsys: pytest.CaptureFixture[str], words: list[str], code: str) -> None:
    """What cannot be progressed is refused with its code, and no cut is shown."""
    found = run(capsys, "progression", *words, "--hardware", FORMAT)
    assert found.code == Exit.BAD_INPUT
    assert f"[{code}]" in found.err
    assert "528614" not in found.err + found.out


def test_master_that_cannot_be_cut(capsys: pytest.CaptureFixture[str]) -> None:
    """A top master that breaks MACS is progressed with a caution."""
    found = run(capsys, "progression", "090909", "--hardware", "us-6x10-015")
    assert found.code == Exit.DONE
    assert "progression-master-macs" in found.out
