"""Sheets made in memory, looked at and saved."""

import io
import zipfile

from pypdf import PdfReader

from tests.web.kit import Visit

AT = "/job/office/paper"


def _text(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def _file(inside: Visit, name: str) -> bytes:
    return bytes(inside.client.get(f"{AT}/made/{name}").content)


def test_a_sheet_is_made_looked_at_and_saved(inside: Visit) -> None:
    """The schedule by itself: shown in the browser, saved on request, the same bytes both times;
    nothing is written into the job folder.
    """
    before = sorted(path.name for path in (inside.jobs / "office").iterdir())
    answer = inside.post(AT, {"names": "schedule", "approved_by": "Harbour board, order 12"})
    assert answer.headers["location"] == f"{AT}/made"
    page = inside.get(f"{AT}/made").text
    assert "schedule.pdf" in page
    assert "schedule.xlsx" in page
    assert "Approved by Harbour board, order 12." in page
    look = inside.get(f"{AT}/made/schedule.pdf").headers
    assert look["content-type"] == "application/pdf"
    assert look["content-disposition"].startswith("inline")
    save = inside.get(f"{AT}/made/schedule.pdf?save=true").headers
    assert save["content-disposition"] == 'attachment; filename="schedule.pdf"'
    pdf = _file(inside, "schedule.pdf")
    assert "104A" in _text(pdf)
    assert "345621" not in _text(pdf)
    with zipfile.ZipFile(io.BytesIO(_file(inside, "all.zip"))) as archive:
        assert sorted(archive.namelist()) == ["schedule.pdf", "schedule.xlsx"]
        assert archive.read("schedule.pdf") == pdf
    assert sorted(path.name for path in (inside.jobs / "office").iterdir()) == before


def test_the_bench_set_says_whether_it_is_approved(inside: Visit) -> None:
    """Without a name the sheet says NOT APPROVED, and the page does too."""
    inside.post(AT, {"names": "pinning"})
    assert "Not approved" in inside.get(f"{AT}/made").text
    assert "NOT APPROVED" in _text(_file(inside, "pinning.pdf"))


def test_what_cannot_be_printed_is_told(inside: Visit) -> None:
    """A sheet that is none, a sign that no font has, a job that is not proved: words, no file."""
    unknown = inside.post(AT, {"names": "no-such-sheet"})
    assert unknown.status == 409
    assert "sheets-no-such-sheet" in unknown.text
    odd = inside.post(AT, {"names": "schedule", "approved_by": "board \ue123"})
    assert odd.status == 409
    assert "sheets-unprintable" in odd.text
    faulty = inside.post("/job/faulty/paper", {"names": "schedule"})
    assert faulty.status == 409
    assert "sheets-not-proved" in faulty.text
    assert inside.get("/job/faulty/paper/made").status == 303
    assert inside.get(f"{AT}/made/schedule.pdf").status == 404


def test_sheets_are_forgotten_with_the_lock(inside: Visit) -> None:
    """After the lock, by hand or by idle time, nothing made before is in memory."""
    house = inside.app.state.house
    inside.post(AT, {"names": "parts"})
    assert inside.get(f"{AT}/made/parts.pdf").status == 200
    inside.clock.now += 10_000
    inside.get("/")
    inside.enter()
    assert inside.get(f"{AT}/made/parts.pdf").status == 404
    inside.get("/job/office/audit")
    assert house.kept._things
    inside.post("/lock")
    assert not house.kept._things
