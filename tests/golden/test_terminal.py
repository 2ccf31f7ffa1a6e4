"""Complete terminal outputs, letter by letter, as a locksmith gets them in a pipe or a file.

To write the files anew after a change that is meant: PINLOOM_GOLDEN=write ./dev test tests/golden
"""

import os
from pathlib import Path

import pytest
from rich.cells import cell_len

from pinloom.core.findings import fault, note
from pinloom.core.request import DesignOutcome, GaveUp, ProvedImpossible, Remedy
from tests.cli.kit import Exit, Run, run
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, KEYNOTES_CHART, MENDED_BITTINGS, write

HERE = Path(__file__).parent
WIDTH = 80


@pytest.fixture(autouse=True)
def _plain(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every case runs in a folder of its own, so that outputs hold no path of a machine."""
    monkeypatch.chdir(tmp_path)
    for name in ("COLUMNS", "FORCE_COLOR", "NO_COLOR", "PINLOOM_CALLED"):
        monkeypatch.delenv(name, raising=False)


def check(name: str, found: Run, code: Exit) -> None:
    """Compare with the file, or write it when that is asked for."""
    text = f"{found.out}--- standard error\n{found.err}--- exit {found.code}\n"
    path = HERE / f"{name}.txt"
    if os.environ.get("PINLOOM_GOLDEN") == "write":
        path.write_text(text, encoding="utf-8")
    assert found.code == code
    assert "\x1b" not in text
    assert all(line == line.rstrip() for line in text.splitlines())
    assert max(map(cell_len, text.splitlines())) <= WIDTH  # wide signs take two columns
    assert text == path.read_text(encoding="utf-8")


PIN = ("pin", "chart.csv", "--bittings", "cuts.csv", "--hardware", FORMAT, "--out", "job")


def test_pin_with_faults(capsys: pytest.CaptureFixture[str]) -> None:
    """The published chart with its printed bittings: the whole report of a job that is wrong."""
    write(Path(), chart=KEYNOTES_CHART, cuts=KEYNOTES_BITTINGS)
    check("pin-faults", run(capsys, *PIN, "--name", "Worked chart"), Exit.FAULTS)


def test_pin_in_cores_with_wide_names(capsys: pytest.CaptureFixture[str]) -> None:
    """Cores with control keys, two kinds of cylinder, names in other scripts, long names."""
    keys = "key,under,copies,reserved,note\nTOP,,2,,\nA,TOP,1,,\n钥匙,TOP,3,,\nspare,,,yes,\n"
    doors = (
        "door,keys,hardware,count,core group\n"
        "Ålesund-værksted (the long shed by the slip),A,,1,\n"
        "帆の工房,钥匙,,4,\n"
        "Loft stair,A 钥匙,ic-6x7-018,1,north\n"
    )
    cuts = "key,stamped\nTOP,3132410\nA,5130412\n钥匙,3152430\nspare,1636565\n"
    control = "control,6405153\ncontrol:north,0516315\n"
    write(Path(), chart=doors, keys=keys, cuts=cuts + control)
    found = run(
        capsys, "pin", "chart.csv", "--keys", "keys.csv", "--bittings", "cuts.csv",
        "--hardware", "ic-7x7-018", "--out", "job", "--door", "Loft stair",
    )  # fmt: skip
    check("pin-cores", found, Exit.DONE)


def test_quiet(capsys: pytest.CaptureFixture[str]) -> None:
    """The verdict and the files, nothing else."""
    write(Path(), chart=KEYNOTES_CHART, cuts=MENDED_BITTINGS)
    check("pin-quiet", run(capsys, *PIN, "--quiet"), Exit.DONE)


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    """The same for programs."""
    write(Path(), chart=KEYNOTES_CHART, cuts=KEYNOTES_BITTINGS)
    found = run(capsys, *PIN, "--json")
    path = HERE / "pin-faults.json"
    if os.environ.get("PINLOOM_GOLDEN") == "write":
        path.write_text(found.out, encoding="utf-8")
    assert found.out == path.read_text(encoding="utf-8")


def test_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    """Faults of the chart, the format, the table of cuts and the target, all at once."""
    write(
        Path(),
        chart="door,A,B\nLoft 1,x,\nLoft 1,,x\nLoft 2,,\n,x,\n=Loft,x,\n",
        cuts="key,stamped\nA,1\n",
    )
    Path("job").mkdir()
    Path("job/notes.txt").write_text("mine")
    check("bad-input", run(capsys, *PIN, "--control", "12"), Exit.BAD_INPUT)


def _design(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, outcome: DesignOutcome
) -> Run:
    monkeypatch.setattr("pinloom.workflow.design.design", lambda *_: outcome)
    write(Path(), chart=KEYNOTES_CHART)
    return run(capsys, "design", "chart.csv", "--hardware", FORMAT, "--out", "job")


def test_impossible(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """A refusal in the user's names: the reason, the conflict, what would help."""
    outcome = ProvedImpossible(
        reason=fault("design-clash", doors="2 doors", keys="2 keys"),
        doors=("104A", "106"),
        keys=("maintenance", "sales"),
        minimal=True,
        remedies=(
            Remedy(
                change="remedy-drop-mark",
                values=(("key", "sales"), ("door", "104A")),
                verified=True,
            ),
            Remedy(change="remedy-another-format", values=(("format", FORMAT),), verified=False),
        ),
        steps=12,
    )
    check("design-impossible", _design(capsys, monkeypatch, outcome), Exit.IMPOSSIBLE)


def test_gave_up(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Giving up is told as such, with the wrong openings of the nearest design key by key."""
    outcome = GaveUp(
        steps=20_000,
        best=None,
        wrong=(("maintenance", "104A"), ("maintenance", "104B"), ("sales", "105")),
        reason=note("design-gave-up", steps=20_000, nearest=" The nearest has 3 wrong openings."),
        remedies=(
            Remedy(change="remedy-one-more-chamber", values=(("chambers", "7"),), verified=True),
        ),
    )
    check("design-gave-up", _design(capsys, monkeypatch, outcome), Exit.GAVE_UP)


def test_formats(capsys: pytest.CaptureFixture[str]) -> None:
    """The list of formats, and one with its sources."""
    check("formats", run(capsys, "formats"), Exit.DONE)
    check("formats-one", run(capsys, "formats", "us-5x6-023"), Exit.DONE)


def test_help(capsys: pytest.CaptureFixture[str]) -> None:
    """What a new user sees first."""
    found = run(capsys, "--help")
    assert found.code == Exit.DONE
    assert found.out.startswith(
        "Usage: pinloom [OPTIONS] COMMAND [ARGS]...\n\n  Design, pin, prove"
    )
    assert "Local codes, the authority having jurisdiction" in found.out
