"""Secrets come from a file or from standard input, and are nowhere repeated."""

import io
import sys
from pathlib import Path

import pytest

from pinloom.workflow.folder import load
from tests.cli.kit import Exit, Run, run
from tests.workflow.kit import FORMAT, KEYNOTES_CHART, MENDED_BITTINGS, write

WORD = "slip and spar"


def _typed(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(text))


def _pin(capsys: pytest.CaptureFixture[str], folder: Path, *more: object) -> Run:
    paths = write(folder, chart=KEYNOTES_CHART, cuts=MENDED_BITTINGS)
    arguments = ["pin", paths["chart"], "--bittings", paths["cuts"], "--hardware", FORMAT]
    return run(capsys, *arguments, "--out", folder / "job", *more)


def test_a_passphrase_from_a_file_seals(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """@FILE: the folder is sealed, opens with it, and the word is not shown."""
    (tmp_path / "word").write_text(WORD + "\n")
    found = _pin(capsys, tmp_path, "--seal", "--passphrase", f"@{tmp_path / 'word'}")
    assert found.code == Exit.DONE
    assert [path.name for path in (tmp_path / "job").iterdir()] == ["job.sealed"]
    assert load(tmp_path / "job", WORD).job is not None
    assert WORD not in found.out + found.err


@pytest.mark.parametrize("more", [("--seal",), ("--seal", "--passphrase", "-")])
def test_a_passphrase_from_standard_input_seals(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    more: tuple[str, ...],
) -> None:
    """A line of standard input does the same, asked for or announced."""
    _typed(monkeypatch, WORD + "\n")
    assert _pin(capsys, tmp_path, *more).code == Exit.DONE
    assert load(tmp_path / "job", WORD).job is not None


def test_a_passphrase_without_seal_seals_too(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Whoever gives a passphrase wants it used; on the command line itself it earns a note."""
    found = _pin(capsys, tmp_path, "--passphrase", WORD)
    assert (tmp_path / "job/job.sealed").is_file()
    assert "secret-in-history" in found.out
    assert "seal-by-passphrase" in found.out
    assert WORD not in found.out + found.err


def test_a_short_passphrase_seals_nothing(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Nine signs are refused before anything is written, ten are taken; what is sealed already
    keeps its passphrase."""
    (tmp_path / "word").write_text("nine sign\n")
    refused = _pin(capsys, tmp_path, "--seal", "--passphrase", f"@{tmp_path / 'word'}")
    assert refused.code == Exit.BAD_INPUT
    assert "[folder-passphrase-short]" in refused.err
    assert not (tmp_path / "job").exists()
    (tmp_path / "word").write_text("ten signs!\n")
    taken = _pin(capsys, tmp_path, "--seal", "--passphrase", f"@{tmp_path / 'word'}")
    assert taken.code == Exit.DONE
    assert "seal-by-passphrase" not in taken.out


def test_a_sealed_job_is_not_replaced_without_its_word(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """No passphrase or a wrong one: refused, and the sealed job still opens."""
    _pin(capsys, tmp_path, "--passphrase", WORD)
    assert "folder-sealed" in _pin(capsys, tmp_path).err
    assert "folder-wrong-passphrase" in _pin(capsys, tmp_path, "--passphrase", "other").err
    assert load(tmp_path / "job", WORD).job is not None


@pytest.mark.parametrize(
    ("more", "typed"),
    [
        (("--passphrase", "@nowhere/word"), ""),
        (("--passphrase", "-"), ""),
        (("--seal",), "\n"),
        (("--control", "@nowhere/cuts"), ""),
    ],
)
def test_a_secret_that_cannot_be_read_is_bad_input(
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    more: tuple[str, ...],
    typed: str,
) -> None:
    """Nothing is written without the secret that was asked for."""
    _typed(monkeypatch, typed)
    found = _pin(capsys, tmp_path, *more)
    assert found.code == Exit.BAD_INPUT
    assert "secret-not-read" in found.err
    assert not (tmp_path / "job").exists()


def test_control_cuts_come_by_file_line_or_argument(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All three give the same job; the cuts show in the list of cuts and in no finding."""
    paths = write(
        tmp_path,
        chart="door,TOP,A\nD1,x,x\nD2,x,\n",
        cuts="key,stamped\nTOP,5286143\nA,7428363\n",
    )
    (tmp_path / "control").write_text("9604781\n")
    start = ["pin", paths["chart"], "--bittings", paths["cuts"], "--hardware", "ic-7x10-0125"]
    bytes_of = []
    for number, text in enumerate((f"@{tmp_path / 'control'}", "-", "9604781")):
        _typed(monkeypatch, "9604781\n")
        folder = tmp_path / str(number)
        found = run(capsys, *start, "--out", folder, "--control", text)
        assert found.code in (Exit.DONE, Exit.FAULTS), found.err
        bytes_of.append((folder / "job.json").read_bytes())
    assert len(set(bytes_of)) == 1
    assert "control,9,6,0,4,7,8,1,9604781" in (tmp_path / "0/bittings.csv").read_text()
    wrong = run(capsys, *start, "--out", tmp_path / "w", "--control", "12345")
    assert wrong.code == Exit.BAD_INPUT
    assert "12345" not in wrong.err + wrong.out
