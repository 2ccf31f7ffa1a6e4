"""The first page, opening a job, and errors in words."""

from pathlib import Path
from urllib.parse import quote

from pinloom.workflow.shelf import Shelf
from tests.web.kit import Visit, visit
from tests.workflow.kit import pinned


def test_the_first_visit_says_what_to_do(tmp_path: Path) -> None:
    """An empty folder, or none: what a job is, the command that makes one, the example."""
    page = visit(tmp_path / "not-there").enter().get("/")
    assert page.status == 200
    assert "There is no job yet" in page.text
    assert "pinloom design CHART" in page.text
    assert "Show me the example" in page.text


def test_the_example_is_one_click_away(tmp_path: Path) -> None:
    """The button designs Alder Quay into the folder and opens it; a second click only opens it."""
    at = visit(tmp_path / "jobs").enter()
    first = at.post("/demo")
    assert (first.status, first.headers["location"]) == (303, "/job/alder-quay")
    page = at.get("/job/alder-quay")
    assert "Every key opens exactly its doors" in page.text
    written = (tmp_path / "jobs" / "alder-quay" / "job.json").stat().st_mtime_ns
    assert at.post("/demo").status == 303
    assert (tmp_path / "jobs" / "alder-quay" / "job.json").stat().st_mtime_ns == written


def test_a_faulty_job_says_what_is_wrong(inside: Visit) -> None:
    """The published chart with its printed cuts: three faults, each with key and door."""
    page = inside.get("/job/faulty").text
    assert "Not proved." in page
    assert "3 faults" in page
    for door in ("104A", "104B", "106"):
        assert f"<td>maintenance</td><td>{door}</td>" in page


def test_a_name_never_leads_out_of_the_folder(inside: Visit, tmp_path: Path) -> None:
    """A job beside the folder of jobs is not found, however its name is spelt."""
    assert pinned(tmp_path, out=inside.jobs.parent / "beside").job is not None
    for name in ("../beside", "..", "./office", "beside", str(inside.jobs.parent / "beside")):
        assert Shelf(inside.jobs).find(name) is None, name
        assert inside.get(f"/job/{quote(name, safe='')}").status == 404 or name == "..", name
    assert Shelf(inside.jobs).find("office") is not None


def test_errors_are_words_with_a_way_back(inside: Visit) -> None:
    """A page that is not there, a job that is not there, a wrong method."""
    for path in ("/no-such-page", "/job/none"):
        page = inside.get(path)
        assert page.status == 404
        assert "That did not work" in page.text
        assert 'href="/"' in page.text
    assert inside.get("/lock").status == 405


def test_an_altered_job_is_refused_in_words(inside: Visit) -> None:
    """A changed table is named with its row, and nothing of the job is shown."""
    assert inside.get("/job/office").status == 200
    table = inside.jobs / "office" / "pinning.csv"
    table.write_text(table.read_text().replace("101,1,", "101,2,", 1))
    page = inside.get("/job/office")
    assert page.status == 409
    assert "folder-file-altered" in page.text


def test_a_sealed_job_opens_for_one_browser_until_the_lock(tmp_path: Path) -> None:
    """Listed by name alone; a wrong passphrase does not open it; after the lock it is shut."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    pinned(tmp_path, out=folder / "shut", passphrase="five sails and a keel")
    at = visit(folder).enter()
    assert "needs its passphrase" in at.get("/").text
    assert at.get("/job/shut").headers["location"] == "/job/shut/unseal"
    wrong = at.post("/job/shut/unseal", {"passphrase": "four sails"})
    assert wrong.status == 403
    assert "does not open" in wrong.text
    assert at.post("/job/shut/unseal", {"passphrase": "five sails and a keel"}).status == 303
    assert "Alder Quay office" in at.get("/job/shut").text
    at.post("/lock")
    at.enter()
    assert at.get("/job/shut").status == 303


def test_a_bug_is_told_without_values(inside: Visit, monkeypatch: object, capsys: object) -> None:
    """Whatever breaks inside gives a page in words, and the terminal hears where, not what."""
    import pytest

    from pinloom.web import home

    assert isinstance(monkeypatch, pytest.MonkeyPatch)
    assert isinstance(capsys, pytest.CaptureFixture)

    def broken(*_: object) -> None:
        raise RuntimeError("cuts 345621")

    monkeypatch.setattr(home, "summarise", broken)
    page = inside.get("/job/office")
    assert page.status == 500
    assert "bug in the program" in page.text
    said = capsys.readouterr()
    assert "RuntimeError in pinloom.web" in said.err
    assert "345621" not in page.text + said.err + said.out
