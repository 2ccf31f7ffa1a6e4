"""Check-offs survive: torn files, two writers, new pins."""

import json
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from pinloom.workflow.checkoffs import FILE, NOTHING, Done, Tick, What, read, record

PROOF = "a" * 64


def _tick(what: What = What.CHAMBER, at: int = 0, *, done: bool = True, copy: int = 0) -> Tick:
    return Tick(proof=PROOF, door=3, copy=copy, what=what, at=at, done=done)


def _record(folder: Path, *ticks: Tick) -> None:
    for tick in ticks:
        assert record(folder, tick) == ()


def test_what_was_recorded_is_read(tmp_path: Path) -> None:
    """Chambers, keys and the test of one cylinder; its twin has nothing."""
    _record(
        tmp_path,
        _tick(at=0),
        _tick(at=2),
        _tick(What.OPENS, 5),
        _tick(What.REFUSED, 7),
        _tick(What.TESTED),
    )
    done = read(tmp_path, PROOF)
    assert done == {
        (3, 0): Done(
            chambers=frozenset({0, 2}),
            opens=frozenset({5}),
            refused=frozenset({7}),
            tested=True,
        )
    }
    assert done.get((3, 1), NOTHING) == NOTHING


def test_taking_back_a_chamber_takes_back_the_test(tmp_path: Path) -> None:
    """A cylinder whose pins changed was not tried: keys and the mark go, other chambers stay; a key
    taken back takes only the mark along.
    """
    whole = (_tick(at=0), _tick(at=1), _tick(What.OPENS, 5), _tick(What.REFUSED, 6))
    _record(tmp_path, *whole, _tick(What.TESTED), _tick(What.OPENS, 5, done=False))
    assert read(tmp_path, PROOF)[3, 0] == Done(chambers=frozenset({0, 1}), refused=frozenset({6}))
    _record(tmp_path, _tick(What.OPENS, 5), _tick(What.TESTED), _tick(at=1, done=False))
    assert read(tmp_path, PROOF)[3, 0] == Done(chambers=frozenset({0}))
    _record(tmp_path, _tick(What.AGAIN))
    assert read(tmp_path, PROOF).get((3, 0), NOTHING) == NOTHING


def test_other_pins_have_no_check_offs(tmp_path: Path) -> None:
    """What belongs to another proof does not count for this one."""
    _record(tmp_path, _tick(at=0))
    assert read(tmp_path, "b" * 64) == {}


def test_a_file_cut_anywhere_keeps_every_whole_line(tmp_path: Path) -> None:
    """Power fails at any byte: every check-off before the torn one is there, the torn one is not,
    and the next is recorded as if nothing had happened.
    """
    for at in range(3):
        _record(tmp_path, _tick(at=at))
    whole = (tmp_path / FILE).read_bytes()
    ends = [i + 1 for i, byte in enumerate(whole) if byte == ord("\n")]
    for cut in range(len(whole)):
        (tmp_path / FILE).write_bytes(whole[:cut])
        kept = sum(end <= cut for end in ends) + (cut + 1 in ends)  # the break itself may be lost
        found = read(tmp_path, PROOF).get((3, 0), NOTHING).chambers
        assert found == frozenset(range(kept)), cut
        _record(tmp_path, _tick(at=9))
        assert read(tmp_path, PROOF)[3, 0].chambers == found | {9}, cut


def test_writers_at_once_lose_nothing(tmp_path: Path) -> None:
    """Eight writers, forty lines each: every line is there and whole."""
    ticks = [_tick(at=at, copy=copy) for copy in range(8) for at in range(40)]
    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(lambda tick: record(tmp_path, tick), ticks)) == {()}
    done = read(tmp_path, PROOF)
    assert all(done[3, copy].chambers == frozenset(range(40)) for copy in range(8))


def test_the_line_is_flushed_before_it_counts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is flushed to the disk once a check-off, and the folder when the file is new."""
    flushed: list[bool] = []
    real = os.fsync

    def watched(handle: int) -> None:
        flushed.append(stat.S_ISDIR(os.fstat(handle).st_mode))
        real(handle)

    monkeypatch.setattr("os.fsync", watched)
    _record(tmp_path, _tick(at=0), _tick(at=1))
    assert flushed == [False, True, False]


def test_a_full_disk_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A check-off that did not reach the disk is refused with a finding."""

    def full(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.write", full)
    (found,) = record(tmp_path, _tick())
    assert found.code == "bench-unrecorded"
    assert "No space left" in found.value("reason")


def test_lines_hold_numbers_alone(tmp_path: Path) -> None:
    """Nobody learns a name, a cut or a pin from the file, and only its owner reads it."""
    _record(tmp_path, _tick(What.OPENS, 5))
    line = json.loads((tmp_path / FILE).read_text())
    assert set(line) == {"proof", "door", "copy", "what", "at", "done", "time"}
    assert len(line["proof"]) == 16
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600


@pytest.mark.parametrize(
    "line",
    [
        "[]",
        "{}",
        '{"proof": "x", "door": -1, "copy": 0, "what": "chamber", "at": 0, "done": true}',
        '{"proof": "aaaaaaaaaaaaaaaa", "door": 3, "copy": 0, "what": "x", "at": 0, "done": true}',
        '{"proof": "aaaaaaaaaaaaaaaa", "door": 3, "copy": 0, "what": "tested", "at": 0.5}',
        '{"proof": "aaaaaaaaaaaaaaaa", "door": 3, "copy": 0, "what": "again", "done": true}',
    ],
)
def test_strange_lines_are_passed_over(tmp_path: Path, line: str) -> None:
    """A line of another form says nothing, and does not hide the others."""
    (tmp_path / FILE).write_text(line + "\n")
    _record(tmp_path, _tick(at=4))
    assert read(tmp_path, PROOF) == {(3, 0): Done(chambers=frozenset({4}))}
