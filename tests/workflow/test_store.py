"""A set of files changes all together or not at all, whatever moment the power fails."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pinloom.workflow import store

OLD = {"job.json": b"old", "bittings.csv": b"old cuts", "NOT-PROVED.txt": b"old mark"}
NEW = {"job.json": b"new", "bittings.csv": b"new cuts", "earlier/revision-1.json": b"old"}


class PowerCutError(BaseException):
    """The machine stops here."""


def _cut_after(monkeypatch: pytest.MonkeyPatch, steps: int) -> None:
    """Stop at the step after the given number of calls that change or flush a disk."""
    left = [steps]

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            if left[0] == 0:
                raise PowerCutError
            left[0] -= 1
            return real(*args, **kwargs)

        return call

    for owner, name in ((os, "fsync"), (Path, "replace"), (Path, "unlink"), (Path, "mkdir")):
        monkeypatch.setattr(owner, name, counted(getattr(owner, name)))


def test_a_crash_at_any_step_leaves_the_old_or_the_new_set(tmp_path: Path) -> None:
    """Cut at every step in turn: what is read is one whole set, and the next write works."""
    seen = set()
    for steps in range(100):
        folder = tmp_path / str(steps)
        store.replace_files(folder, OLD)
        with pytest.MonkeyPatch.context() as patch:
            _cut_after(patch, steps)
            try:
                store.replace_files(folder, NEW)
                finished = True
            except PowerCutError:
                finished = False
        found = store.read_files(folder)
        assert found in (OLD, NEW), f"half a set after {steps} steps"
        seen.add("new" if found == NEW else "old")
        if finished:
            break
        store.replace_files(folder, OLD)
        assert store.read_files(folder) == OLD
        assert not list(folder.glob(".*"))
    else:
        pytest.fail("the write never ended")
    assert seen == {"old", "new"}
    assert steps > 10


def test_a_crash_of_the_first_write_leaves_nothing_or_all(tmp_path: Path) -> None:
    """In a new folder, too; and what was left over does not stand in the way."""
    for steps in range(100):
        folder = tmp_path / str(steps) / "deep"
        with pytest.MonkeyPatch.context() as patch:
            _cut_after(patch, steps)
            try:
                store.replace_files(folder, NEW)
                break
            except PowerCutError:
                pass
        if folder.is_dir():
            assert store.read_files(folder) in ({}, NEW)
            assert store.is_empty(folder) == (store.read_files(folder) == {})
        store.replace_files(folder, NEW)
        assert store.read_files(folder) == NEW


def test_a_full_disk_leaves_the_old_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write that the system refuses changes nothing."""
    store.replace_files(tmp_path / "job", OLD)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space"):
            store.replace_files(tmp_path / "job", NEW)
    assert store.read_files(tmp_path / "job") == OLD


def test_modes_are_private_whatever_the_umask(tmp_path: Path) -> None:
    """Files 0600, folders 0700, also where the folder stood open before."""
    folder = tmp_path / "job"
    folder.mkdir(0o755)
    before = os.umask(0)
    try:
        store.replace_files(folder, NEW)
    finally:
        os.umask(before)
    modes = {p.name: p.stat().st_mode & 0o777 for p in (folder, *folder.rglob("*"))}
    assert modes == {
        "job": 0o700,
        "earlier": 0o700,
        "job.json": 0o600,
        "bittings.csv": 0o600,
        "revision-1.json": 0o600,
    }


def test_other_files_are_left_alone(tmp_path: Path) -> None:
    """Sheets and notes that a person keeps in the folder stay, and are no part of the set."""
    store.replace_files(tmp_path, OLD)
    (tmp_path / "owner.pdf").write_bytes(b"paper")
    (tmp_path / "notes.csv").write_bytes(b"mine")
    store.replace_files(tmp_path, NEW)
    assert (tmp_path / "owner.pdf").read_bytes() == b"paper"
    assert (tmp_path / "notes.csv").read_bytes() == b"mine"
    assert not (tmp_path / "NOT-PROVED.txt").exists()
    assert store.read_files(tmp_path) == NEW


@pytest.mark.parametrize(
    "record",
    [
        '{"put": {}, "drop": ["../outside.csv"]}',
        '{"put": {}, "drop": ["notes.csv"]}',
        '{"put": {"job.json": "../outside.csv"}, "drop": []}',
        '{"put": {"../../x.json": ".pinloom-fresh-0"}, "drop": []}',
        '{"put": []}',
        "{",
    ],
)
def test_a_foreign_commit_record_is_refused(tmp_path: Path, record: str) -> None:
    """A record that reaches beyond the set is not followed, in reading or in writing."""
    (tmp_path / "outside.csv").write_text("mine")
    folder = tmp_path / "job"
    store.replace_files(folder, OLD)
    (folder / "notes.csv").write_text("mine")
    (folder / ".pinloom-commit").write_text(record)
    with pytest.raises(store.DamagedCommit):
        store.read_files(folder)
    with pytest.raises(store.DamagedCommit):
        store.replace_files(folder, NEW)
    assert (tmp_path / "outside.csv").read_text() == "mine"
    assert (folder / "notes.csv").read_text() == "mine"


def test_a_link_in_the_place_of_a_file_is_not_written_through(tmp_path: Path) -> None:
    """A link that stands where a file goes is replaced; its target keeps its contents."""
    target = tmp_path / "target"
    target.write_bytes(b"mine")
    folder = tmp_path / "job"
    store.replace_files(folder, OLD)
    (folder / "job.json").unlink()
    (folder / "job.json").symlink_to(target)
    store.replace_files(folder, NEW)
    assert target.read_bytes() == b"mine"
    assert store.read_files(folder) == NEW


def test_names_outside_the_set_are_a_bug(tmp_path: Path) -> None:
    """The set is closed: a caller cannot write any other name."""
    with pytest.raises(ValueError, match=r"owner\.pdf"):
        store.replace_files(tmp_path, {"owner.pdf": b""})


def test_a_file_that_others_could_read_becomes_private(tmp_path: Path) -> None:
    """Written anew, it is its owner's alone, whatever its mode was before."""
    path = tmp_path / "parts.csv"
    path.write_text("old")
    path.chmod(0o644)
    store.write_private(path, b"new")
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o600
