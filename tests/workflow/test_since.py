"""A grown job knows what it grew from, and its paper prints what is to be done."""

import io
from pathlib import Path

import openpyxl
import pypdf
import pytest

from pinloom.growth.lost import Prices
from pinloom.workflow.folder import load, previous
from pinloom.workflow.grow import GrowOrder, GrowResult, grow_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.lost import LostOrder, lost_key
from pinloom.workflow.sheets import SheetsOrder, sheets
from tests.workflow.kit import (
    KEYNOTES_BITTINGS,
    KEYNOTES_CHART,
    MENDED_BITTINGS,
    pinned,
    write,
)

_HEAD, *_ROWS = KEYNOTES_CHART.splitlines()
WITH_TIDE = f"{_HEAD},tide\n" + "".join(
    f"{row},{'x' if row.startswith('107') else ''}\n" for row in _ROWS
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The published chart, proved, in the folder ``job``."""
    pinned(tmp_path)
    return tmp_path


def _grow(
    folder: Path, chart: str = WITH_TIDE, out: str = "grown", source: str = "job"
) -> GrowResult:
    path = write(folder, wanted=chart)["wanted"]
    order = GrowOrder(folder=folder / source, chart=ChartSource(path=path), out=folder / out)
    result = grow_job(order)
    assert result.job is not None
    return result


def _sheet(folder: Path, name: str, **more: object) -> str:
    out = folder / "paper"
    result = sheets(
        SheetsOrder(folder=folder / "grown", out=out, names=(name,), approved_by="x", **more)  # type: ignore[arg-type]
    )
    assert result.job is not None, [one.code for one in result.findings]
    reader = pypdf.PdfReader(io.BytesIO((out / f"{name}.pdf").read_bytes()))
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize("out", ["grown", "job"])
def test_what_it_grew_from_is_kept(folder: Path, out: str) -> None:
    """In the same folder and in another: the record of the revision before, and that it grew."""
    before = load(folder / "job").job
    _grow(folder, out=out)
    found = previous(folder / out)
    assert found.job == before
    assert found.grown


def test_a_lost_key_s_plan_keeps_it_too(folder: Path) -> None:
    """The end state of a plan in a folder of its own: the paper prints the keys to cut again."""
    order = LostOrder(key="sales", folder=folder / "job", prices=Prices(), out=folder / "grown")
    saved = lost_key(order).saved
    assert saved is not None
    assert saved.job is not None
    assert previous(folder / "grown").grown
    text = _sheet(folder, "cutting")
    assert "since revision 1" in text
    assert "sales" in text


def test_new_copies_are_numbered_on_from_the_old_ones(folder: Path) -> None:
    """A key that is cut otherwise has copies about with the old cuts: no new one gets their stamps
    and tags. A new key begins with 1. Only cylinders that are to be pinned get a label.
    """
    order = LostOrder(key="sales", folder=folder / "job", prices=Prices(), out=folder / "grown")
    assert lost_key(order).saved is not None
    text = _sheet(folder, "cutting")
    assert "sales-2" in text
    assert "sales-1" not in text
    assert "numbered on from those of revision 1" in text
    tags = _sheet(folder, "tags")
    assert "sales-2" in tags
    assert "sales-1" not in tags
    assert "104A" in tags
    assert "107" not in tags
    whole = _sheet(folder, "tags", all_keys=True)
    assert "sales-1" in whole
    assert "107" in whole
    _grow(folder, out="grown")
    assert "tide-1" in _sheet(folder, "cutting")


def test_a_designed_job_did_not_grow(folder: Path) -> None:
    """A job that replaced another in its folder has keys that were never cut: none is left out."""
    pinned(folder, KEYNOTES_BITTINGS)
    pinned(folder, MENDED_BITTINGS)
    found = previous(folder / "job")
    assert found.job is not None
    assert not found.grown


def test_the_cutting_list_has_what_is_to_be_cut(folder: Path) -> None:
    """Only the new key, and it says so; with --all-keys the others too. Hours likewise."""
    result = _grow(folder)
    assert {one.what for one in result.changes} == {"cut", "re-pin"}
    text = _sheet(folder, "cutting")
    assert "4 keys are cut already and are left out" in text
    assert "since revision 1" in text
    assert "tide" in text
    assert "maintenance" not in text
    every = _sheet(folder, "cutting", all_keys=True)
    assert "maintenance" in every
    assert "left out" not in every
    work = _sheet(folder, "work")
    assert "cylinders to pin 1 " in work
    assert "keys to cut and stamp 1 " in work
    schedule = _sheet(folder, "schedule")
    assert "Compared with revision 1." in schedule
    again = _sheet(folder, "cutting", since=folder / "job")
    assert again == text


def test_blanks_are_counted_for_what_is_to_be_cut(folder: Path) -> None:
    """One blank to buy, not five."""
    _grow(folder)
    out = folder / "paper"
    result = sheets(SheetsOrder(folder=folder / "grown", out=out, approved_by="x"))
    assert "bench.xlsx" in result.files
    book = openpyxl.load_workbook(out / "bench.xlsx")
    cells = [row for row in book["blanks"].iter_rows(values_only=True) if row[0]]
    assert [str(row[1]) for row in cells[-1:]] == ["1"]


def _pins(folder: Path, **more: object) -> dict[str, int]:
    """Pins by kind as the table of parts has them."""
    _sheet(folder, "parts", **more)
    book = openpyxl.load_workbook(folder / "paper/parts.xlsx")
    counts: dict[str, int] = {}
    for row in book["parts"].iter_rows(values_only=True):
        if str(row[4]).isdigit():
            counts[str(row[0])] = counts.get(str(row[0]), 0) + int(str(row[4]))
    return counts


def test_pins_are_counted_for_what_is_to_be_pinned(folder: Path) -> None:
    """One cylinder of six chambers is pinned anew, of eight; with --all-keys all count."""
    result = _grow(folder)
    assert result.job is not None
    pins = next(pins for pins in result.job.pinning if pins.door == "107")
    told = _pins(folder)
    assert told["bottom pin"] == told["driver"] == told["spring"] == 6
    assert told["master pin"] == pins.master_pins()
    every = _pins(folder, all_keys=True)
    assert every["bottom pin"] == 48
    text = _sheet(folder, "parts")
    assert "For the 1 cylinder that is new or pinned otherwise since revision 1" in text
    assert "7 with the pins of then are left out" in text
    assert "left out" not in _sheet(folder, "parts", all_keys=True)


def test_a_further_cylinder_of_a_door_is_counted(folder: Path) -> None:
    """A door gets two more cylinders with the pins of its first: these are to be pinned beside
    the new key's, and the work estimate says so too."""
    head, first, *rows = WITH_TIDE.splitlines()
    counted = [first.replace(",", ",3,", 1), *(row.replace(",", ",1,", 1) for row in rows)]
    _grow(folder, "\n".join((head.replace("door,", "door,count,", 1), *counted)) + "\n")
    assert _pins(folder)["bottom pin"] == 18
    assert "cylinders to pin 3 " in _sheet(folder, "work")


def test_further_cylinders_alone_are_work_too(folder: Path) -> None:
    """Nothing but the count of a door grows: the list of what to do says so, the job grew, and the
    sheets count the further cylinders alone."""
    first, *rows = _ROWS
    counted = [first.replace(",", ",3,", 1), *(row.replace(",", ",1,", 1) for row in rows)]
    head = _HEAD.replace("door,", "door,count,", 1)
    result = _grow(folder, "\n".join((head, *counted)) + "\n")
    assert [(one.name, one.what, one.before, one.after) for one in result.changes] == [
        ("101", "count", "1", "3")
    ]
    assert _pins(folder)["bottom pin"] == 12
    assert "cylinders to pin 2 " in _sheet(folder, "work")


def test_a_change_of_notes_keeps_the_list_of_what_to_do(folder: Path) -> None:
    """The bench has not set the cylinder yet when somebody writes a note: the list stays, and the
    sheets still print it."""
    paths = write(
        folder,
        doors="door,keys\n101,maintenance sales quality cleaning\n102,sales\n"
        "103,maintenance cleaning\n104A,sales cleaning\n104B,sales cleaning\n105,quality\n"
        "106,sales quality cleaning\n107,maintenance tide\n",
    )
    keys = "key,under,note\nmaintenance,,\nsales,,\nquality,,\ncleaning,,\ntide,,"
    for note in ("\n", "spare on the board\n"):
        path = write(folder, keys=keys + note)["keys"]
        source = ChartSource(path=paths["doors"], keys=path)
        result = grow_job(
            GrowOrder(
                folder=folder / ("job" if note == "\n" else "grown"),
                chart=source,
                out=folder / "grown",
            )
        )
        assert result.job is not None
        if note == "\n":
            listed = (folder / "grown/changes.csv").read_bytes()
    assert result.changes == ()
    assert result.job is not None
    assert result.job.chart.keys[result.job.chart.key_index()["tide"]].note == "spare on the board"
    assert (folder / "grown/changes.csv").read_bytes() == listed
    assert b"tide,cut" in listed
    assert "4 keys are cut already" in _sheet(folder, "cutting")
