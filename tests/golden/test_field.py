"""What a locksmith sees of an existing system: pins found, what is wrong, what mends it."""

from dataclasses import replace
from pathlib import Path

import pytest

from tests.cli.kit import Exit, run
from tests.golden.test_terminal import _plain, check
from tests.workflow.kit import FORMAT, KEYNOTES_BITTINGS, KEYNOTES_CHART, MENDED_BITTINGS, write

__all__ = ["_plain"]  # every case runs in a folder of its own
Capture = pytest.CaptureFixture[str]
PIN = ("pin", "chart.csv", "--hardware", FORMAT, "--out", "job", "--bittings")


def test_pins_that_are_not_as_on_record(capsys: Capture) -> None:
    """106 with another master pin in one chamber and one chamber not read."""
    write(Path(), chart=KEYNOTES_CHART, cuts=MENDED_BITTINGS)
    assert run(capsys, *PIN, "cuts.csv", "--quiet").code == Exit.DONE
    Path("pins").write_text("3 4 5+2 ? 2 1\n")
    found = run(capsys, "decode", "job", "106", "--pins", "@pins", "--show-cuts")
    check("decode-differs", found, Exit.FAULTS)


def test_an_incomplete_system_is_mended(capsys: Capture) -> None:
    """The published chart with its printed bittings, of which one is not known whole; of the pins
    one door was not read and one in part."""
    write(Path(), chart=KEYNOTES_CHART, cuts=KEYNOTES_BITTINGS)
    assert run(capsys, *PIN, "cuts.csv", "--quiet").code == Exit.FAULTS
    rows = Path("job/pinning.csv").read_text().splitlines(keepends=True)
    kept = [row for row in rows if not row.startswith("105,")]
    write(
        Path(),
        cuts=KEYNOTES_BITTINGS.replace("quality,343621", "quality,34?6?1"),
        pins="".join("101,2,?,,,\n" if row.startswith("101,2,") else row for row in kept),
    )
    found = run(capsys, *PIN, "cuts.csv", "--pinning", "pins.csv", "--mend", "--out", "mended")
    calm = replace(found, err="")  # how long it took is of no interest
    check("pin-mended", calm, Exit.DONE)


def test_what_rests(capsys: Capture, monkeypatch: pytest.MonkeyPatch) -> None:
    """One key returned, one out, one never handed out, one without a copy; the clock stands."""
    from pinloom.vault import Cost, Strongbox
    from pinloom.workflow import ledger as work
    from tests.ledger import kit

    make = Strongbox.new
    quick = Cost(rounds=1, memory_kib=8, lanes=1)
    monkeypatch.setattr(Strongbox, "new", lambda word, _=None: make(word, quick))
    monkeypatch.setenv("PINLOOM_LEDGER", "ledger.db")
    monkeypatch.setenv("PINLOOM_CLERK", "clerk")
    monkeypatch.setenv("TZ", "UTC")
    clock = kit.Clock()
    monkeypatch.setattr(work, "now", clock)
    write(Path(), chart=KEYNOTES_CHART, cuts=MENDED_BITTINGS)
    Path("word").write_text(f"{kit.PASSPHRASE}\n")
    for arguments in (
        (*PIN, "cuts.csv", "--name", "Quay"),
        ("ledger", "new", "--passphrase", "@word"),
        ("ledger", "site", "Alder Quay"),
        ("ledger", "person", "Rigger"),
        ("ledger", "import", "job", "--site", "Alder Quay", "--passphrase", "@word"),
        ("ledger", "approve", "Quay", "1", "--by", "Office", "--authority", "order 7"),
        ("ledger", "cut", "Quay", "sales", "--copies", "2"),
        ("ledger", "cut", "Quay", "cleaning"),
        ("ledger", "cut", "Quay", "quality"),
        ("ledger", "issue", "sales-2", "Rigger"),
        ("ledger", "issue", "cleaning-1", "Rigger"),
        ("ledger", "return", "sales-2"),
    ):
        done = run(capsys, *arguments)
        assert done.code == Exit.DONE, done.err
    found = run(capsys, "ledger", "resting", "Quay", "--all", "--rest", "30")
    check("ledger-resting", found, Exit.DONE)
