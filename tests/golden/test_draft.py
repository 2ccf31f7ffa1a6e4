"""The complete report of `pinloom draft`, letter by letter."""

from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.draft.kit import book, quay
from tests.golden.test_terminal import check


def test_draft_of_the_quay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The report on a small building with one oddity of every severity."""
    monkeypatch.chdir(tmp_path)
    sheets = quay()
    sheets["Component"][2][0] = "Door 002 "
    sheets["Component"][5][2] = "001, 104"
    book(tmp_path, sheets, "handover")
    found = run(capsys, "draft", "handover.xlsx", "--out", "chart.xlsx", "--by", "both")
    check("draft", found, Exit.DONE)
