"""A new job from a chart that is pasted or given as a file."""

from pathlib import Path

import pytest

from pinloom.workflow.folder import load
from pinloom.workflow.wanted import FILE
from tests.web.kit import ORIGIN, Visit, visit
from tests.workflow.kit import pinned

TABLE = "door\tTOP\tA\tB\nLoft 1\tx\tx\t\nLoft 2\tx\t\tx\n"
DOORS = b"door,keys\nLoft 1,A\nLoft 2,B\n"
KEYS = b"key,under\nTOP,\nA,TOP\nB,TOP\n"


@pytest.fixture
def at(tmp_path: Path) -> Visit:
    """A browser inside, without any job."""
    return visit(tmp_path / "jobs").enter()


def test_a_pasted_table_becomes_a_job(at: Visit) -> None:
    """Tabs as a spreadsheet puts them on the clipboard: a proved job under the given name."""
    made = at.post("/new", {"name": " Sail  lofts ", "pasted": TABLE, "hardware": "us-6x6-028"})
    assert (made.status, made.headers["location"]) == (303, "/job/Sail%20lofts")
    page = at.get("/job/Sail%20lofts").text
    assert "Every key opens exactly its doors" in page
    job = load(at.jobs / "Sail lofts").job
    assert job is not None
    assert (job.name, job.key_format.name) == ("Sail lofts", "us-6x6-028")
    assert [key.name for key in job.chart.keys] == ["A", "B", "TOP"]


def test_a_schedule_comes_as_two_files(at: Visit) -> None:
    """Doors and keys as files; the table of keys gives the masters."""
    answer = at.client.post(
        "/new",
        data={"name": "Lofts", "token": at.token},
        files={"chart": ("doors.csv", DOORS), "keys": ("keys.csv", KEYS)},
        headers={"origin": ORIGIN},
    )
    assert answer.status_code == 303
    job = load(at.jobs / "Lofts").job
    assert job is not None
    assert {key.name: key.under for key in job.chart.keys} == {"A": "TOP", "B": "TOP", "TOP": ""}


def test_a_file_without_the_token_is_refused(at: Visit) -> None:
    """A form with files needs the token like any other."""
    answer = at.client.post(
        "/new",
        data={"name": "Lofts"},
        files={"chart": ("a.csv", DOORS)},
        headers={"origin": ORIGIN},
    )
    assert answer.status_code == 403
    assert not at.jobs.exists()


@pytest.mark.parametrize(
    ("form", "code"),
    [
        ({"name": "", "pasted": TABLE}, "web-name-unusable"),
        ({"name": "../out", "pasted": TABLE}, "web-name-unusable"),
        ({"name": ".hidden", "pasted": TABLE}, "web-name-unusable"),
        ({"name": "Lofts", "pasted": " "}, "web-no-chart"),
        ({"name": "Lofts", "pasted": "door\tA\nLoft 1\t\nLoft 1\tx\n"}, "chart-"),
        ({"name": "Lofts", "pasted": "door\t=A1\nLoft\tx\n"}, "chart-"),
    ],
)
def test_wrong_input_is_told_and_kept(at: Visit, form: dict[str, str], code: str) -> None:
    """The findings in words, what was typed still in the form, nothing written."""
    page = at.post("/new", form)
    assert page.status == 409
    assert code in page.text
    assert "Loft" in page.text or not form["pasted"].strip()
    assert not at.jobs.exists() or list(at.jobs.iterdir()) == []


def test_nothing_is_written_over(inside: Visit) -> None:
    """A name that is there already, in other letters too, is refused; the job is as it was."""
    before = (inside.jobs / "office" / "job.json").read_bytes()
    page = inside.post("/new", {"name": "OFFICE", "pasted": TABLE})
    assert page.status == 409
    assert "web-name-taken" in page.text
    assert (inside.jobs / "office" / "job.json").read_bytes() == before


def test_what_is_impossible_is_told_with_its_reason(at: Visit) -> None:
    """Two keys given the same cuts of which one shall not open the other's door: refused, with
    both named, nothing written.
    """
    keys = b"key,under,cuts\nTOP,,\nA,TOP,123456\nB,TOP,123456\n"
    answer = at.client.post(
        "/new",
        data={"name": "Lofts", "token": at.token, "hardware": "us-6x6-028"},
        files={"chart": ("doors.csv", DOORS), "keys": ("keys.csv", keys)},
        headers={"origin": ORIGIN},
    )
    assert answer.status_code == 409
    assert "Impossible on this hardware." in answer.text
    assert "Keys: A, B" in answer.text or "Keys: B, A" in answer.text
    assert "123456" not in answer.text
    assert not (at.jobs / "Lofts").exists()


def test_an_edited_chart_beside_a_seal_is_told(tmp_path: Path) -> None:
    """A job that was edited and then sealed: the chart in the clear is pointed out."""
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    pinned(tmp_path, out=jobs / "shut", passphrase="five sails and a keel")
    at = visit(jobs).enter()
    at.post("/job/shut/unseal", {"passphrase": "five sails and a keel"})
    assert "web-clear-beside-seal" not in at.get("/job/shut").text
    (jobs / "shut" / FILE).write_text("{}")
    assert "web-clear-beside-seal" in at.get("/job/shut").text
