"""Paper of proved jobs: what stands on it, what must not, and that it repeats to the byte."""

import io
import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import openpyxl
import pypdf
import pytest

from pinloom.chart import read_chart
from pinloom.core.findings import Finding, Severity
from pinloom.core.job import FaultKind, Job, ProofFault
from pinloom.sheets import check, make
from pinloom.sheets.blocks import Face, Paper, Set, Sheet, Text
from pinloom.sheets.fonts import choose, covered
from pinloom.sheets.order import Minutes, SheetOrder
from pinloom.sheets.paper import breakable, to_pdf
from pinloom.sheets.stamps import code, stamps
from pinloom.workflow.folder import load
from pinloom.workflow.sheets import SheetsOrder, order_for, sheets
from tests.workflow.kit import KEYNOTES_CHART, pinned

FACE = Face(job="Alder Quay", revision=2, fingerprint="0123456789abcdef" * 4, approved_by=None)


def job_in(folder: Path, chart: str = KEYNOTES_CHART) -> Job:
    """The published chart with mended cuts, proved."""
    job = pinned(folder, chart=chart).job
    assert job is not None
    assert job.proof.proved
    return job


def text_of(pdf: bytes) -> str:
    """All text of a PDF."""
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def codes(findings: tuple[Finding, ...]) -> list[str]:
    """The codes of findings."""
    return [one.code for one in findings]


@pytest.fixture(scope="module")
def order(tmp_path_factory: pytest.TempPathFactory) -> SheetOrder:
    """The order of the published chart, audited."""
    return order_for(job_in(tmp_path_factory.mktemp("job")))


@pytest.fixture(scope="module")
def files(order: SheetOrder) -> dict[str, bytes]:
    """Every file of that order."""
    return make(order)


def test_owner_set_holds_no_cut(order: SheetOrder, files: dict[str, bytes]) -> None:
    """No key's cuts stand in the text of owner.pdf, run together or spaced; bench.pdf has each."""
    owner = re.sub(r"\s+", "", text_of(files["owner.pdf"]))
    bench = re.sub(r"\s+", "", text_of(files["bench.pdf"]))
    for levels in order.job.bittings:
        cuts = order.job.key_format.stamp(levels)
        assert cuts not in owner
        assert cuts[::-1] not in owner
        assert cuts in bench


def test_same_job_same_bytes(order: SheetOrder, files: dict[str, bytes]) -> None:
    """Every file of a second run equals the first one's, byte by byte."""
    assert make(order) == files


def test_every_page_says_what_it_is(order: SheetOrder, files: dict[str, bytes]) -> None:
    """Each page of both sets: CONFIDENTIAL, job, revision, proof, page n of m."""
    for name in ("owner.pdf", "bench.pdf"):
        pages = pypdf.PdfReader(io.BytesIO(files[name])).pages
        for number, page in enumerate(pages, start=1):
            text = page.extract_text()
            assert "CONFIDENTIAL" in text
            assert f"{order.job.name}, revision {order.job.revision}" in text
            assert f"proof {order.job.proof.fingerprint[:4]}-" in text
            assert f"page {number} of {len(pages)}" in text


def test_not_approved_stands_across_every_bench_page(
    order: SheetOrder, files: dict[str, bytes]
) -> None:
    """Without an approval every bench page carries the words, the owner's none; with one, none."""
    pages = pypdf.PdfReader(io.BytesIO(files["bench.pdf"])).pages
    assert all("NOT APPROVED" in page.extract_text() for page in pages)
    assert "NOT APPROVED" not in text_of(files["owner.pdf"])
    approved = make(replace(order, approved_by="the owner, order 14"), ["bittings"])
    text = text_of(approved["bittings.pdf"])
    assert "NOT APPROVED" not in text
    assert "Approved by the owner, order 14" in text
    assert codes(check(order.job, [], None)) == ["sheets-not-approved"]
    assert codes(check(order.job, ["schedule"], None)) == []


def test_unproved_job_is_refused(order: SheetOrder) -> None:
    """A job with one fault in its proof: a finding, and no bytes whoever asks."""
    wrong = ProofFault(kind=FaultKind.OPENS, key="sales", door="101")
    job = replace(order.job, proof=replace(order.job.proof, faults=(wrong,)))
    (said,) = check(job, [], None)
    assert (said.code, said.severity) == ("sheets-not-proved", Severity.FAULT)
    with pytest.raises(ValueError, match="not to be printed"):
        make(replace(order, job=job))


def test_pages_are_tagged(files: dict[str, bytes]) -> None:
    """Both sets are marked as tagged and name their language and title."""
    for name in ("owner.pdf", "bench.pdf"):
        root = pypdf.PdfReader(io.BytesIO(files[name])).root_object
        assert str(root.raw_get("/Lang")) == "en"
        assert "/StructTreeRoot" in root
        marks = root.raw_get("/MarkInfo").get_object()
        assert isinstance(marks, pypdf.generic.DictionaryObject)
        assert marks.raw_get("/Marked") == pypdf.generic.BooleanObject(True)


@pytest.mark.parametrize(("paper", "size"), [(Paper.A4, (595, 842)), (Paper.LETTER, (612, 792))])
def test_paper_has_its_size(paper: Paper, size: tuple[int, int]) -> None:
    """A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 in (ANSI Y14.1), in points."""
    sheet = Sheet(name="x", title="X", set=Set.OWNER, blocks=(Text(text="x"),))
    page = pypdf.PdfReader(io.BytesIO(to_pdf([sheet], FACE, paper))).pages[0]
    assert (round(page.mediabox.width), round(page.mediabox.height)) == size


def test_names_of_every_script_print(tmp_path: Path) -> None:
    """Hebrew, Arabic, Cyrillic, Japanese and very long door names: no finding, and in the text."""
    names = ["Кран 2", "船庫", "Loft " + "long" * 30, "שער", "بوابة"]
    chart = KEYNOTES_CHART
    for old, new in zip(("101", "102", "103", "104A", "104B"), names, strict=True):
        chart = chart.replace(f"\n{old},", f"\n{new},")
    job = job_in(tmp_path, chart)
    assert codes(check(job, [], "owner")) == []
    text = text_of(make(order_for(job, audited=False, approved_by="owner"), ["tests"])["tests.pdf"])
    plain = re.sub(r"[\s\u200b]+", "", text)
    assert "Кран2" in plain
    assert "船庫" in plain
    assert "long" * 30 in plain
    for name in names[3:]:
        assert name in plain or name[::-1] in plain or set(name) <= set(text)


def test_signs_without_a_font_are_refused(order: SheetOrder) -> None:
    """Tamil, a private sign and an override of direction: one fault a text, with code points."""
    doors = list(order.job.chart.doors)
    for place, name in enumerate(("தறி", "Loft \ue000", "Loft \u202e1")):
        doors[place] = replace(doors[place], name=name)
    chart = replace(order.job.chart, doors=tuple(doors))
    found = check(replace(order.job, chart=chart), [], "owner")
    assert codes(found) == ["sheets-unprintable"] * 3
    assert [one.value("signs").split()[-1] for one in found[1:]] == ["U+E000", "U+202E"]
    assert choose(["plain"]).missing == ()
    assert ord("a") in covered("FiraGO_Regular")


def test_no_name_is_markup(order: SheetOrder) -> None:
    """A job called ``#eval(*x*)`` is printed as these signs."""
    job = replace(order.job, name="#eval(*x*) $y$")
    text = text_of(make(replace(order, job=job, audit=None), ["work"])["work.pdf"])
    assert "#eval(*x*) $y$, revision" in text


@pytest.mark.published
def test_cutting_list_has_the_published_places_and_roots(files: dict[str, bytes]) -> None:
    """us-6x10-015 on paper: first cut .231 in, .1562 in apart, roots .335 down by .015 to .200
    (lockpicking101.com f=9 t=57422; kc.allegion.com, "combinating rule 15"), to 0.0001 in.
    """
    book = openpyxl.load_workbook(io.BytesIO(files["bench.xlsx"]))
    places = [str(row[1].value) for row in book["positions"].iter_rows(min_row=3)]
    roots = [str(row[2].value) for row in book["roots"].iter_rows(min_row=3)]
    assert places == ["0.2310", "0.3872", "0.5434", "0.6996", "0.8558", "1.0120"]
    assert roots == [f"{0.335 - 0.015 * n:.4f}" for n in range(10)]
    text = text_of(files["bench.pdf"])
    assert all(one in text for one in (*places, *roots))


def test_workbook_cells_are_texts(order: SheetOrder) -> None:
    """A door called =1+1 is the text =1+1 in the workbook, no formula."""
    doors = (replace(order.job.chart.doors[0], name="=1+1"), *order.job.chart.doors[1:])
    job = replace(order.job, chart=replace(order.job.chart, doors=doors))
    made = make(replace(order, job=job, audit=None), ["tests"])["tests.xlsx"]
    cell = openpyxl.load_workbook(io.BytesIO(made)).worksheets[0]["A3"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_schedule_workbook_reads_back(tmp_path: Path) -> None:
    """schedule.xlsx, read as a chart, is the job's chart; every file is for its owner alone."""
    job = job_in(tmp_path)
    out = tmp_path / "paper"
    result = sheets(SheetsOrder(folder=tmp_path / "job", out=out, approved_by="the owner"))
    assert result.job == job
    assert read_chart(out / "schedule.xlsx").chart == job.chart
    assert {"owner.pdf", "bench.pdf", "bench.xlsx", "schedule.xlsx"} < set(result.files)
    assert {path.stat().st_mode & 0o777 for path in out.iterdir()} == {0o600}


def test_changes_since_a_revision_are_told_without_cuts(tmp_path: Path) -> None:
    """A second chart drops `cleaning` from 103: the schedule says so; cuts stay out."""
    job = job_in(tmp_path)
    row = tuple(k for k in job.chart.openers[2] if job.chart.keys[k].name != "cleaning")
    openers = (*job.chart.openers[:2], row, *job.chart.openers[3:])
    later = replace(job, revision=2, chart=replace(job.chart, openers=openers))
    text = text_of(make(order_for(later, audited=False, before=job), ["schedule"])["schedule.pdf"])
    assert "Compared with revision 1." in text
    assert "103: no longer cleaning." in text


def test_estimate_uses_the_shops_own_minutes_only(order: SheetOrder) -> None:
    """Eight cylinders at 7.5 min and four keys at 3 min: 1.2 hours; without minutes, blanks."""
    silent = text_of(make(order, ["work"])["work.pdf"])
    assert "____ hours" in silent
    told = replace(order, minutes=Minutes(cylinder=Decimal("7.5"), key=Decimal(3)))
    assert "1.2 hours" in text_of(make(told, ["work"])["work.pdf"])


def test_stamps_give_nothing_away(order: SheetOrder) -> None:
    """A symbol that says master, reads as cuts or names a door is replaced by a number."""
    keys = order.job.chart.keys
    renamed = tuple(
        replace(key, name=name)
        for key, name in zip(keys, ("Master A", "345621", "101", "AA1"), strict=True)
    )
    found = stamps(replace(order.job.chart, keys=renamed), order.job.key_format)
    assert found == {"Master A": "K001", "345621": "K002", "101": "K003", "AA1": "AA1"}


def test_tag_codes_do_not_depend_on_cuts(order: SheetOrder, files: dict[str, bytes]) -> None:
    """The code of a tag is a function of names; it stands on the page of tags."""
    mark = code(order.job.name, "cylinder", "101\n1")
    assert mark in text_of(files["bench.pdf"])
    assert code(order.job.name, "cylinder", "102\n1") != mark


def test_long_runs_may_break() -> None:
    """A run of 40 letters gets chances to break, short words none; nothing is lost."""
    assert breakable("Sail loft") == "Sail loft"
    assert "\u200b" in breakable("x" * 40)
    assert breakable("x" * 40).replace("\u200b", "") == "x" * 40


def test_unknown_sheet_is_refused(order: SheetOrder) -> None:
    """A name that is none of ours is a finding that lists those that are."""
    (said,) = [one for one in check(order.job, ["menu"], "owner") if one.code.endswith("sheet")]
    assert "bittings" in said.value("names")


def test_folder_is_proved_again(tmp_path: Path) -> None:
    """A job folder altered on disk is refused before anything is printed."""
    job_in(tmp_path)
    record = tmp_path / "job" / "job.json"
    changed = re.sub(r'("revision":\s*)1', r"\g<1>7", record.read_text())
    assert changed != record.read_text()
    record.write_text(changed)
    assert load(tmp_path / "job").job is None
    result = sheets(SheetsOrder(folder=tmp_path / "job", out=tmp_path / "paper"))
    assert result.job is None
    assert not (tmp_path / "paper").exists()
