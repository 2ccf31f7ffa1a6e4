"""Job folders: what is written is read again, and nothing altered is believed."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from pinloom.core.job import FaultKind
from pinloom.workflow import jobfile
from pinloom.workflow.folder import check_target, load, save
from tests.workflow.kit import KEYNOTES_BITTINGS, MENDED_BITTINGS, codes, job_of, pinned


def _texts(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_files_are_those_of_the_promise(tmp_path: Path) -> None:
    """A proved job is three files, an unproved one carries its mark as a fourth."""
    pinned(tmp_path, MENDED_BITTINGS, out=tmp_path / "good")
    pinned(tmp_path, KEYNOTES_BITTINGS, out=tmp_path / "bad")
    assert set(_texts(tmp_path / "good")) == {"bittings.csv", "job.json", "pinning.csv"}
    assert set(_texts(tmp_path / "bad")) == {
        "NOT-PROVED.txt",
        "bittings.csv",
        "job.json",
        "pinning.csv",
    }
    assert json.loads((tmp_path / "good/job.json").read_bytes())["verdict"] == "PROVED"
    assert json.loads((tmp_path / "bad/job.json").read_bytes())["verdict"] == "NOT PROVED"


def test_tables_have_the_promised_form(tmp_path: Path) -> None:
    """Heads and rows of both tables, letter by letter (row of 106 as published, K-1)."""
    pinned(tmp_path, KEYNOTES_BITTINGS)
    cuts = (tmp_path / "job/bittings.csv").read_text().splitlines()
    assert cuts == [
        "key,c1,c2,c3,c4,c5,c6,stamped",
        "cleaning,3,4,5,4,2,1,345421",
        "maintenance,3,4,5,6,2,1,345621",
        "quality,3,4,3,6,2,1,343621",
        "sales,3,6,5,6,2,1,365621",
    ]
    pins = (tmp_path / "job/pinning.csv").read_text().splitlines()
    assert pins[0] == "door,chamber,bottom,masters,buildup,driver"
    assert len(pins) == 1 + 8 * 6
    assert [row for row in pins if row.startswith("106,")] == [
        "106,1,3,,,1",
        "106,2,4,2,,2",
        "106,3,3,2,,2",
        "106,4,4,2,,2",
        "106,5,2,,,1",
        "106,6,1,,,1",
    ]


def test_a_job_comes_back_as_it_was(tmp_path: Path) -> None:
    """Reading gives the same record, proved or not, and the same bytes when written again."""
    for name, bittings in (("good", MENDED_BITTINGS), ("bad", KEYNOTES_BITTINGS)):
        job = job_of(pinned(tmp_path, bittings, out=tmp_path / name))
        loaded = load(tmp_path / name)
        assert loaded.job == job
        assert loaded.findings == ()
        assert save(job, tmp_path / f"{name} again").findings == ()
        assert _texts(tmp_path / name) == _texts(tmp_path / f"{name} again")


def test_the_same_job_again_is_the_same_revision(tmp_path: Path) -> None:
    """Writing what stands there already changes no byte."""
    pinned(tmp_path)
    before = _texts(tmp_path / "job")
    result = pinned(tmp_path)
    assert result.saved is not None
    assert result.saved.unchanged
    assert _texts(tmp_path / "job") == before


def test_revisions_count_up_and_old_cuts_are_kept(tmp_path: Path) -> None:
    """Other cuts make the next revision, and the record of the one before stays readable."""
    first = pinned(tmp_path, MENDED_BITTINGS)
    record = (tmp_path / "job/job.json").read_bytes()
    second = pinned(tmp_path, KEYNOTES_BITTINGS)
    third = pinned(tmp_path, MENDED_BITTINGS)
    assert [job_of(r).revision for r in (first, second, third)] == [1, 2, 3]
    assert second.saved is not None
    assert second.saved.replaced == 1
    assert (tmp_path / "job/earlier/revision-1.json").read_bytes() == record
    kept = sorted(path.name for path in (tmp_path / "job/earlier").iterdir())
    assert kept == ["revision-1.json", "revision-2.json"]
    assert not (tmp_path / "job/NOT-PROVED.txt").exists()
    assert load(tmp_path / "job").job == job_of(third)


def test_a_new_name_is_a_revision_without_a_loss(tmp_path: Path) -> None:
    """When cuts and pins stay, nothing has to be kept besides."""
    job = job_of(pinned(tmp_path))
    saved = save(replace(job, name="Slip office"), tmp_path / "job")
    assert saved.job is not None
    assert (saved.job.revision, saved.replaced) == (2, None)
    assert not (tmp_path / "job/earlier").exists()


def test_a_folder_of_other_things_is_not_touched(tmp_path: Path) -> None:
    """Files of somebody else, a file instead of a folder and an unknown job.json are refused."""
    job = job_of(pinned(tmp_path, out=tmp_path / "x"))
    for name, contents in (("notes.txt", "mine"), ("job.json", '{"name": "mine"}')):
        folder = tmp_path / f"with {name}"
        folder.mkdir()
        (folder / name).write_text(contents)
        saved = save(job, folder)
        assert saved.job is None
        assert codes(saved.findings) == codes(check_target(folder))
        assert codes(saved.findings)[0] in ("folder-not-ours", "job-damaged")
        assert _texts(folder) == {name: contents.encode()}
    (tmp_path / "file").write_text("mine")
    assert codes(check_target(tmp_path / "file")) == ["folder-not-ours"]
    assert check_target(tmp_path / "new/and/deep") == ()


def test_a_folder_that_cannot_be_written_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk is a finding with the system's reason, not a crash."""
    job = job_of(pinned(tmp_path))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    saved = save(replace(job, name="other"), tmp_path / "job")
    assert [dict(one.values) for one in saved.findings] == [{"reason": "No space left on device"}]
    assert load(tmp_path / "job").job == job


@pytest.mark.parametrize(
    ("file", "old", "new", "code"),
    [
        ("bittings.csv", "345621", "345641", "folder-file-altered"),
        ("pinning.csv", "106,2,4,2,,2", "106,2,4,4,,2", "folder-file-altered"),
        ("job.json", '"name":"106"', '"name":"107"', "job-altered"),
        ("job.json", '"macs":7', '"macs":9', "job-altered"),
        ("job.json", '"verdict":"NOT PROVED"', '"verdict":"PROVED"', "job-altered"),
        ("job.json", '"schema":1', '"schema":2', "job-newer"),
        ("job.json", '"schema":1', '"schema":"x"', "job-damaged"),
        ("job.json", '"bottom":', '"bottom":7', "job-altered"),
    ],
)
def test_an_altered_file_is_refused(
    tmp_path: Path, file: str, old: str, new: str, code: str
) -> None:
    """Any hand edit of any file is found, and the finding says which file and where."""
    pinned(tmp_path, KEYNOTES_BITTINGS)
    path = tmp_path / "job" / file
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    loaded = load(tmp_path / "job")
    assert loaded.job is None
    assert codes(loaded.findings) == [code]
    assert file in loaded.findings[0].place.file


def test_every_byte_of_the_record_counts(tmp_path: Path) -> None:
    """job.json cut short or with one byte changed anywhere is never read as a job."""
    pinned(tmp_path)
    path = tmp_path / "job/job.json"
    data = path.read_bytes()
    for at in range(0, len(data), 97):
        path.write_bytes(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])
        assert load(tmp_path / "job").job is None, at
        path.write_bytes(data[:at])
        assert load(tmp_path / "job").job is None, at
    path.write_bytes(data)
    assert load(tmp_path / "job").job is not None


def test_recomputed_fingerprints_do_not_hide_a_false_verdict(tmp_path: Path) -> None:
    """Faults taken out of the record, all fingerprints made anew: the new proof finds them."""
    job = job_of(pinned(tmp_path, KEYNOTES_BITTINGS))
    forged = replace(job, proof=replace(job.proof, faults=()))
    (tmp_path / "job/job.json").write_bytes(jobfile.encode(forged))
    (tmp_path / "job/NOT-PROVED.txt").unlink()
    loaded = load(tmp_path / "job")
    assert loaded.job is None
    assert codes(loaded.findings) == ["job-other-verdict"]


def test_nonsense_with_right_fingerprints_is_refused(tmp_path: Path) -> None:
    """A record whose parts do not fit together is an altered one, not a crash."""
    job = job_of(pinned(tmp_path))
    strange = [
        replace(job, bittings=job.bittings[1:]),
        replace(job, bittings=((9, 9, 9, 9, 9, 99), *job.bittings[1:])),
        replace(job, pinning=job.pinning[1:]),
        replace(job, formats=()),
        replace(job, chart=replace(job.chart, openers=((77,), *job.chart.openers[1:]))),
    ]
    for one in strange:
        if one.formats:
            (tmp_path / "job/job.json").write_bytes(jobfile.encode(one))
            assert codes(load(tmp_path / "job").findings) == ["job-altered"]
        assert not jobfile.is_consistent(one)


def test_a_missing_table_is_named(tmp_path: Path) -> None:
    """Each file of the folder is needed."""
    for name in ("bittings.csv", "pinning.csv"):
        pinned(tmp_path, out=tmp_path / name)
        (tmp_path / name / name).unlink()
        found = load(tmp_path / name).findings
        assert [(one.code, one.value("file")) for one in found] == [("folder-file-missing", name)]


def test_no_job_at_all(tmp_path: Path) -> None:
    """An absent folder, an empty one and one of other things hold no job."""
    (tmp_path / "other").mkdir()
    (tmp_path / "other/notes.txt").write_text("mine")
    for folder in (tmp_path / "absent", tmp_path, tmp_path / "other"):
        assert codes(load(folder).findings) == ["folder-not-a-job"]


def test_a_folder_open_to_others_is_said(tmp_path: Path) -> None:
    """The job is read all the same."""
    job = job_of(pinned(tmp_path))
    (tmp_path / "job").chmod(0o755)
    loaded = load(tmp_path / "job")
    assert loaded.job == job
    assert codes(loaded.findings) == ["folder-open"]


def test_pins_that_cannot_be_set_make_a_job_unproved(tmp_path: Path) -> None:
    """A one-step difference asks for a master pin that is not made (P-5); the job says so, and
    says the same when it is read again.
    """
    one_off = KEYNOTES_BITTINGS.replace("343621", "344621")
    job = job_of(pinned(tmp_path, one_off))
    kinds = {fault.kind for fault in job.proof.faults}
    assert FaultKind.BAD_STACK in kinds
    assert load(tmp_path / "job").job == job
