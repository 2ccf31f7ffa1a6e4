"""Sealed job folders: nothing readable is left, and only the passphrase opens them."""

import json
from pathlib import Path

from pinloom.workflow.folder import load, save
from pinloom.workflow.seal import seal_files
from tests.workflow.kit import KEYNOTES_BITTINGS, MENDED_BITTINGS, codes, job_of, pinned

WORD = "slip and spar"


def test_a_sealed_folder_holds_one_unreadable_file(tmp_path: Path) -> None:
    """One file, private, without a name, a door or a cut in it; the passphrase brings all back."""
    job = job_of(pinned(tmp_path, passphrase=WORD))
    files = list((tmp_path / "job").iterdir())
    assert [path.name for path in files] == ["job.sealed"]
    assert files[0].stat().st_mode & 0o777 == 0o600
    data = files[0].read_bytes()
    for secret in (b"345621", b"maintenance", b"104A", b"Alder"):
        assert secret not in data
    assert load(tmp_path / "job", WORD).job == job


def test_without_the_passphrase_nothing_opens(tmp_path: Path) -> None:
    """No passphrase, a wrong one, a changed byte: three different words, no job."""
    job = job_of(pinned(tmp_path, passphrase=WORD))
    folder = tmp_path / "job"
    assert codes(load(folder).findings) == ["folder-sealed"]
    assert codes(load(folder, "slip and spat").findings) == ["folder-wrong-passphrase"]
    assert codes(save(job, folder).findings) == ["folder-sealed"]
    assert codes(save(job, folder, "wrong").findings) == ["folder-wrong-passphrase"]
    path = folder / "job.sealed"
    data = bytearray(path.read_bytes())
    data[-1] ^= 1
    path.write_bytes(bytes(data))
    assert codes(load(folder, WORD).findings) == ["folder-seal-damaged"]


def test_sealing_an_open_job_leaves_no_open_file(tmp_path: Path) -> None:
    """Tables, record and earlier revisions all go into the sealed file."""
    pinned(tmp_path, MENDED_BITTINGS)
    pinned(tmp_path, KEYNOTES_BITTINGS)
    third = job_of(pinned(tmp_path, MENDED_BITTINGS, passphrase=WORD))
    files = [path.name for path in (tmp_path / "job").rglob("*") if path.is_file()]
    assert files == ["job.sealed"]
    assert third.revision == 3
    fourth = job_of(pinned(tmp_path, KEYNOTES_BITTINGS, passphrase=WORD))
    assert fourth.revision == 4
    assert load(tmp_path / "job", WORD).job == fourth


def test_a_folder_sealed_long_ago_keeps_its_short_passphrase(tmp_path: Path) -> None:
    """The rule asks for ten signs where a folder is sealed, not where it is written again."""
    job = job_of(pinned(tmp_path))
    plain = {path.name: path.read_bytes() for path in (tmp_path / "job").iterdir()}
    folder = tmp_path / "old"
    folder.mkdir(mode=0o700)
    for name, data in seal_files(plain, "short").items():
        (folder / name).write_bytes(data)
    assert load(folder, "short").job == job
    assert codes(save(job, tmp_path / "fresh", "short").findings) == ["folder-passphrase-short"]
    other = job_of(pinned(tmp_path, KEYNOTES_BITTINGS, out=folder, passphrase="short"))
    assert other.revision == 2


def test_earlier_revisions_survive_inside_the_seal(tmp_path: Path) -> None:
    """What a sealed folder keeps of earlier revisions is what an open one would keep."""
    from pinloom.workflow.seal import unseal_files

    pinned(tmp_path, MENDED_BITTINGS)
    pinned(tmp_path, KEYNOTES_BITTINGS, passphrase=WORD)
    files = unseal_files((tmp_path / "job/job.sealed").read_bytes(), WORD)
    assert isinstance(files, dict)
    assert json.loads(files["earlier/revision-1.json"])["job"]["revision"] == 1
