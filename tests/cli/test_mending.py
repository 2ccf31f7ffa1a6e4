"""``pinloom pin --mend``: exit codes, report, JSON without a cut; ``grow`` on a faulty folder."""

import json
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, KEYNOTES_CHART, write

Capture = pytest.CaptureFixture[str]
PIN = ("pin", "chart.csv", "--bittings", "cuts.csv", "--hardware", FORMAT)


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The published chart with its printed bittings (*Keynotes*, February 2022, p. 36)."""
    monkeypatch.chdir(tmp_path)
    write(Path(), chart=KEYNOTES_CHART, cuts=KEYNOTES_BITTINGS)


def test_keynotes_is_mended(capsys: Capture) -> None:
    """What is wrong, the plan, the mended job; exit 0, and the same again changes nothing."""
    done = run(capsys, *PIN, "--out", "job", "--mend")
    assert done.code == Exit.DONE, done.err
    text = " ".join(done.out.split())
    assert "As found: 3 faults" in text
    assert "Changes: 4" in text
    assert "keys re-cut: 1, proved to be the least" in text
    assert "cylinders re-pinned: 3, proved to be the least" in text
    assert text.index("As found") < text.index("Changes: 4") < text.index("PROVED")
    listed = Path("job/changes.csv").read_text().splitlines()
    assert [line.split(",")[1] for line in listed[1:]] == ["re-cut", "re-pin", "re-pin", "re-pin"]


def test_json_without_a_cut(capsys: Capture) -> None:
    """Faults as found and the plan by name; no cut stands in it."""
    done = run(capsys, *PIN, "--out", "job", "--mend", "--json")
    told = json.loads(done.out)
    assert (done.code, told["exit"], told["verdict"]) == (Exit.DONE, 0, "PROVED")
    assert [one["door"] for one in told["as_found"]["faults"]] == ["104A", "104B", "106"]
    assert {one["what"] for one in told["changes"]} == {"re-cut", "re-pin"}
    for cuts in ("345621", "365621", "343621", "345421"):
        assert cuts not in done.out


def test_impossible_and_refused(capsys: Capture) -> None:
    """Keys that cannot mend it: 3; open cuts without --mend, and stray options: 2."""
    done = run(capsys, *PIN, "--out", "job", "--mend", "--may-recut", "quality")
    assert done.code == Exit.IMPOSSIBLE
    assert "As found: 3 faults" in done.out
    assert not Path("job").exists()
    assert run(capsys, *PIN, "--out", "job", "--may-recut", "quality").code == Exit.BAD_INPUT
    write(Path(), cuts=KEYNOTES_BITTINGS.replace("345421", "34?421"))
    refused = run(capsys, *PIN, "--out", "job")
    assert refused.code == Exit.BAD_INPUT
    assert "[cuts-open]" in refused.err
    assert run(capsys, *PIN, "--out", "job", "--mend").code == Exit.DONE


def test_a_faulty_folder_is_grown(capsys: Capture) -> None:
    """``pin`` writes it NOT PROVED (5); ``grow`` with the same chart says that pins alone cannot
    mend it (3), and with any key allowed mends it (0)."""
    assert run(capsys, *PIN, "--out", "job").code == Exit.FAULTS
    alone = run(capsys, "grow", "job", "chart.csv", "--out", "grown")
    assert alone.code == Exit.IMPOSSIBLE
    done = run(capsys, "grow", "job", "chart.csv", "--out", "grown", "--may-recut", "*")
    assert done.code == Exit.DONE
    assert not Path("grown/NOT-PROVED.txt").exists()
