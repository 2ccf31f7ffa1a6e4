"""``pinloom bench``, ``pinloom construction`` and ``pinloom design --kit`` as a user sees them."""

import json
from pathlib import Path

import pytest

from pinloom.cli import run
from pinloom.cli.exits import Exit
from pinloom.cli.onhand import on_hand, purchase
from pinloom.cli.screen import Screen
from pinloom.pinning import Purchase, Verdict
from pinloom.workflow.kitdesign import KitResult
from tests.pinning.kit import shipped
from tests.workflow.kit import KEYNOTES_BITTINGS, KEYNOTES_CHART, pinned, write
from tests.workflow.test_bench import BUILDING_CHART, BUILDING_CUTS


def test_bench_shows_cuts_trays_and_what_is_short(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The page of a proved job: first cut from the stop, a tray, one master pin to buy."""
    pinned(tmp_path)
    kit = write(tmp_path, kit="part,size,count\nmaster,2,7\n")["kit"]
    assert run(["bench", str(tmp_path / "job"), "--kit", str(kit)]) == Exit.DONE
    shown = capsys.readouterr().out
    assert "from stop, inch  0.2310" in shown
    assert "Tray 1: " in shown
    assert [line.split()[-3:] for line in shown.splitlines() if "master pin, steps     2" in line][
        -1
    ] == ["8", "7", "1"]
    assert all(len(line) <= 80 for line in shown.splitlines())


def test_bench_as_json_holds_no_cuts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Trays and parts for programs; no stamped key in the text."""
    pinned(tmp_path)
    assert run(["bench", str(tmp_path / "job"), "--json"]) == Exit.DONE
    text = capsys.readouterr().out
    told = json.loads(text)
    assert sum(len(tray) for tray in told["trays"]) == 8
    assert "345621" not in text


def test_bench_exit_codes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No job there is bad input; a job that is not proved is a fault."""
    assert run(["bench", str(tmp_path / "none")]) == Exit.BAD_INPUT
    pinned(tmp_path, KEYNOTES_BITTINGS)
    assert run(["bench", str(tmp_path / "job")]) == Exit.FAULTS
    assert "not proved" in capsys.readouterr().err


def test_construction_exit_codes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Proved, impossible for doors that share nothing, bad input."""
    pinned(tmp_path, BUILDING_CUTS, chart=BUILDING_CHART)
    job, out = str(tmp_path / "job"), str(tmp_path / "out")
    assert run(["construction", job, "--out", out]) == Exit.IMPOSSIBLE
    assert run(["construction", job, "--out", out, "--under", "TOP"]) == Exit.DONE
    assert "PROVED before and after" in capsys.readouterr().out
    assert run(["construction", job, "--out", out, "--under", "none"]) == Exit.BAD_INPUT
    quiet = ["construction", job, "--out", out, "--door", "North 1", "--method", "split-pin"]
    assert run([*quiet, "--json"]) == Exit.DONE
    told = json.loads(capsys.readouterr().out)
    assert told["proved"]
    assert told["doors"] == ["North 1"]


def test_design_with_a_kit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Short of five master pins, proved to be the least, on the screen and as JSON."""
    paths = write(tmp_path, chart=KEYNOTES_CHART, kit="part,size,count\nmaster,2,3\n")
    arguments = ["design", str(paths["chart"]), "--hardware", "us-6x10-015"]
    arguments += ["--kit", str(paths["kit"]), "--out", str(tmp_path / "job")]
    assert run(arguments) == Exit.DONE
    shown = " ".join(capsys.readouterr().out.split())
    assert "Short of 5 master pins; no design with these sizes needs fewer." in shown
    assert run([*arguments, "--json"]) == Exit.DONE
    assert json.loads(capsys.readouterr().out)["kit"]["least_short"] == 5


@pytest.mark.parametrize(
    ("bought", "expected"),
    [
        (
            Purchase(sizes=(2, 3), verdict=Verdict.POSSIBLE, least=True, tried=9),
            "a design exists: 2 (0.0300 in), 3 (0.0450 in); fewer sizes were proved not to do.",
        ),
        (
            Purchase(sizes=(2,), verdict=Verdict.POSSIBLE, least=False, tried=9),
            "2 (0.0300 in); fewer may do.",
        ),
        (
            Purchase(sizes=None, verdict=Verdict.IMPOSSIBLE, least=False, tried=9),
            "with every size that is made there is no design either",
        ),
        (
            Purchase(sizes=None, verdict=Verdict.UNKNOWN, least=False, tried=9),
            "9 choices of sizes were tried, none with a design, and not all of them excluded",
        ),
    ],
)
def test_what_to_buy_in_words(
    bought: Purchase, expected: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each answer says how sure it is."""
    purchase(Screen(), bought, shipped("us-6x10-015"))
    assert expected in " ".join(capsys.readouterr().out.split())


def test_a_kit_that_has_everything(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing short is said in a sentence."""
    on_hand(Screen(), KitResult(short=(), bound=0))
    assert "Everything that the kit speaks of is there" in capsys.readouterr().out
