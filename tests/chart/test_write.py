"""What is written is read back to the same chart, and starts no formula anywhere."""

import csv
import re
import stat
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from pinloom.chart import as_rows, read_chart, write_matrix, write_schedule
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.findings import Severity, has_fault
from tests.chart.kit import faults, good, text_file
from tests.chart.strategies import charts

FOLDER = settings(
    max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture]
)  # each example writes over the files of the last
FEWER = settings(
    max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)  # workbooks are slow


def plain() -> AccessChart:
    """Two lofts and a stair, a master and a reserved key."""
    return AccessChart.build(
        [Door(name="Loft 1"), Door(name="Loft 2", count=2), Door(name="Stair", excepted=("AA",))],
        [
            Key(name="AA"),
            Key(name="AA1", under="AA", copies=3),
            Key(name="AA2", under="AA"),
            Key(name="AA9", under="AA", standing=KeyStanding.RESERVED),
        ],
        {"Loft 1": ["AA1", "AA"], "Loft 2": ["AA2", "AA"], "Stair": ["AA1", "AA2"]},
    )


def test_matrix_as_written(tmp_path: Path) -> None:
    """The written matrix is the promised form, doors and keys in natural order."""
    assert write_matrix(plain(), tmp_path / "m.csv", tmp_path / "k.csv") == ()
    assert (tmp_path / "m.csv").read_text(encoding="utf-8") == (
        "door,count,except,AA,AA1,AA2,AA9\nLoft 1,,,x,x,,\nLoft 2,2,,x,,x,\nStair,,AA,,x,x,\n"
    )
    assert (tmp_path / "k.csv").read_text(encoding="utf-8") == (
        "key,under,copies,reserved\nAA,,,\nAA1,AA,3,\nAA2,AA,,\nAA9,AA,,yes\n"
    )
    assert [list(row) for row in as_rows(plain())] == list(
        csv.reader((tmp_path / "m.csv").read_text().splitlines())
    )


def test_schedule_as_written(tmp_path: Path) -> None:
    """The written schedule lists the lowest keys and excepts what must stay out."""
    assert write_schedule(plain(), tmp_path / "d.csv", tmp_path / "k.csv") == ()
    assert (tmp_path / "d.csv").read_text(encoding="utf-8") == (
        "door,keys,count,except\nLoft 1,AA1,,\nLoft 2,AA2,2,\nStair,AA1 AA2,,AA\n"
    )


@given(chart=charts())
@FOLDER
def test_round_trip_through_csv(tmp_path: Path, chart: AccessChart) -> None:
    """A chart written as CSV in either form reads back equal, or writing says why it cannot."""
    files = [tmp_path / name for name in ("d.csv", "k.csv", "w.csv")]
    for form, write in (("matrix", write_matrix), ("schedule", write_schedule)):
        found = write(chart, *files)
        if has_fault(found):
            event(f"{form} refused: {found[0].code}")
            continue
        event(f"{form} written")
        keyways = files[2] if chart.blanks else None
        assert good(read_chart(files[0], files[1], keyways=keyways)) == chart


@given(chart=charts())
@FEWER
def test_round_trip_through_workbooks(tmp_path: Path, chart: AccessChart) -> None:
    """A chart written as one workbook in either form reads back equal, without further files."""
    path = tmp_path / "b.xlsx"
    for write in (write_matrix, write_schedule):
        if not has_fault(write(chart, path)):
            assert good(read_chart(path)) == chart


@given(chart=charts(), data=st.data())
@FOLDER
def test_order_of_rows_and_columns_does_not_matter(
    tmp_path: Path, chart: AccessChart, data: st.DataObject
) -> None:
    """Shuffling rows and columns of either form changes nothing."""
    files = [tmp_path / name for name in ("d.csv", "k.csv", "w.csv")]
    for write in (write_matrix, write_schedule):
        if has_fault(write(chart, *files)):
            continue
        for path in files[:2]:
            rows = list(csv.reader(path.read_text(encoding="utf-8").splitlines()))
            order = data.draw(st.permutations(range(len(rows[0]))))
            body = data.draw(st.permutations(rows[1:]))
            with path.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file).writerows([[row[i] for i in order] for row in [rows[0], *body]])
        keyways = files[2] if chart.blanks else None
        assert good(read_chart(files[0], files[1], keyways=keyways)) == chart


@given(chart=charts())
@FEWER
def test_no_cell_starts_a_formula(tmp_path: Path, chart: AccessChart) -> None:
    """CSV cells never begin with a sign that a spreadsheet takes for a formula; workbook cells are
    texts.
    """
    files = [tmp_path / name for name in ("d.csv", "k.csv", "w.csv")]
    write_schedule(chart, *files)
    write_matrix(chart, tmp_path / "m.csv", files[1], files[2])
    for path in (*files, tmp_path / "m.csv"):
        if path.exists():
            for row in csv.reader(path.read_text(encoding="utf-8").splitlines()):
                assert not any(re.match(r"[=+\-@\t\r]", cell) for cell in row)
    if not has_fault(write_schedule(chart, tmp_path / "b.xlsx")):
        for page in openpyxl.load_workbook(tmp_path / "b.xlsx"):
            for cells in page.iter_rows():
                assert {cell.data_type for cell in cells if cell.value is not None} <= {"s"}


def test_same_chart_same_bytes(tmp_path: Path) -> None:
    """Writing twice gives the same bytes in every form."""
    for name in ("a.xlsx", "b.xlsx"):
        write_schedule(plain(), tmp_path / name)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_given_cuts_are_for_the_owner_alone(tmp_path: Path) -> None:
    """A file that holds cuts can be read by its owner only, also when it was there before."""
    chart = AccessChart.build([Door(name="d")], [Key(name="k", given="123456")], {"d": ["k"]})
    path = text_file(tmp_path, "k.csv", "old")
    path.chmod(0o644)
    write_schedule(chart, tmp_path / "d.csv", path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    write_schedule(chart, tmp_path / "b.xlsx")
    assert stat.S_IMODE((tmp_path / "b.xlsx").stat().st_mode) == 0o600


@pytest.mark.parametrize("name", ["count", "Core Group", "keys", "(spare)"])
def test_a_matrix_refuses_a_key_named_like_a_column(tmp_path: Path, name: str) -> None:
    """Such a key would be read back as something else, so nothing is written."""
    chart = AccessChart.build([Door(name="d")], [Key(name=name)], {"d": [name]})
    assert [f.code for f in write_matrix(chart, tmp_path / "m.csv")] == ["chart-write-head"]
    assert not (tmp_path / "m.csv").exists()
    write_schedule(chart, tmp_path / "d.csv", tmp_path / "k.csv")
    assert good(read_chart(tmp_path / "d.csv", tmp_path / "k.csv")) == chart


def test_a_schedule_refuses_lists_it_cannot_hold(tmp_path: Path) -> None:
    """Where two keys read as the words of a third, a list of names is ambiguous."""
    keys = [Key(name="fire"), Key(name="warden"), Key(name="fire warden")]
    chart = AccessChart.build(
        [Door(name="d"), Door(name="e")], keys, {"d": ["fire warden"], "e": ["fire", "warden"]}
    )
    found = write_schedule(chart, tmp_path / "d.csv", tmp_path / "k.csv")
    assert [(f.code, f.value("door")) for f in found] == [("chart-write-list", "d")]


def test_a_single_file_says_what_it_loses(tmp_path: Path) -> None:
    """A matrix in one CSV file names the data of keys that it cannot hold."""
    [lost] = write_matrix(plain(), tmp_path / "m.csv")
    assert (lost.code, lost.severity) == ("chart-write-lost", Severity.CAUTION)
    assert lost.value("lost") == "copies, reserved, under"
    assert [f.code for f in write_schedule(plain(), tmp_path / "d.csv")] == ["chart-write-keys"]


def test_a_name_with_a_text_mark_keeps_it(tmp_path: Path) -> None:
    """The mark that keeps a name from being a formula is taken away once, not more."""
    read = read_chart(text_file(tmp_path, "m.csv", "door,'+A,''-B,'C\nShed,x,x,x\n"))
    assert {key.name for key in good(read).keys} == {"+A", "'-B", "'C"}
    assert faults(read_chart(text_file(tmp_path, "n.csv", "door,A\n'=1,x\n")))


def test_masters_that_one_cell_cannot_list_are_refused_by_both_forms(tmp_path: Path) -> None:
    """Masters `0` and `0 0`: the cell `0 0` would be read as the first one twice."""
    chart = AccessChart.build(
        [Door(name="a", excepted=("0 0",)), Door(name="b")],
        [Key(name="0"), Key(name="0 0"), Key(name="1", under="0 0")],
        {"a": ["1", "0"], "b": ["0 0", "1"]},
    )
    for write in (write_matrix, write_schedule):
        found = write(chart, tmp_path / "d.csv", tmp_path / "k.csv")
        assert "chart-write-list" in [one.code for one in found]
        assert not (tmp_path / "d.csv").exists()
