"""The whole screen of an audit, letter by letter (see ``test_terminal`` for writing it anew)."""

from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.golden.test_terminal import check
from tests.workflow.kit import KEYNOTES_BITTINGS, pinned


def test_audit_of_two_designs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The mended design of the published chart, with the printed bittings beside it."""
    monkeypatch.chdir(tmp_path)
    pinned(Path(), KEYNOTES_BITTINGS, out=Path("printed"))
    pinned(Path(), out=Path("mended"))
    check("audit", run(capsys, "audit", "mended", "--compare", "printed"), Exit.DONE)
