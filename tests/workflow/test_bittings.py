"""Tables of cuts: both spellings, all faults at once, and no cut in any finding."""

from pathlib import Path

import pytest

from pinloom import messages
from pinloom.chart import read_chart
from pinloom.hardware import load_format
from pinloom.workflow.bittings import Cuts, cuts_for
from tests.workflow.kit import FORMAT, MENDED_BITTINGS, codes, write

CHART = "door,A,B\nLoft 1,x,\nLoft 2,,x\n"
HEAD = "key,c1,c2,c3,c4,c5,c6,stamped\n"
GOOD = "A,1,2,3,4,5,6,123456\nB,3,4,5,6,7,8,345678\n"


def _read(folder: Path, table: str, form: str = FORMAT, chart: str = CHART) -> Cuts:
    paths = write(folder, chart=chart, cuts=table)
    read = read_chart(paths["chart"])
    made = load_format(form).format
    assert read.chart is not None
    assert made is not None
    fixed = tuple(made.read_cuts(key.given) if key.given else None for key in read.chart.keys)
    return cuts_for(paths["cuts"], read.chart, made, fixed)


@pytest.mark.parametrize(
    "table",
    [
        HEAD + GOOD,
        "stamped,key\n345678,B\n123456,A\n",
        "key,c1,c2,c3,c4,c5,c6\nB,3,4,5,6,7,8\nA,1,2,3,4,5,6\n",
        "Key;Stamped\nA;1 2 3 4 5 6\nB;3-4-5-6-7-8\n",
        HEAD + "A,,,,,,,123456\nB,3,4,5,6,7,8,\n",
    ],
)
def test_cuts_are_read_in_both_spellings(tmp_path: Path, table: str) -> None:
    """Numbers, stamped texts or both, in any order of rows and columns, give the same cuts."""
    assert _read(tmp_path, table).bittings == ((1, 2, 3, 4, 5, 6), (3, 4, 5, 6, 7, 8))


def test_a_stamped_zero_may_mean_ten(tmp_path: Path) -> None:
    """In a format whose tenth depth is stamped 0, the number is 10 and both say the same."""
    table = HEAD + "A,10,9,8,7,6,5,098765\nB,5,6,7,8,9,10,\n"
    assert _read(tmp_path, table, "us-6x10-020").bittings == (
        (9, 8, 7, 6, 5, 4),
        (4, 5, 6, 7, 8, 9),
    )


@pytest.mark.parametrize(
    ("table", "found"),
    [
        (HEAD + "A,1,2,3,4,5,6,\n", ["cuts-key-missing"]),
        (HEAD + GOOD + "C,1,2,3,4,5,6,\n", ["cuts-key-unknown"]),
        (HEAD + GOOD + "A,1,2,3,4,5,8,\n", ["cuts-key-twice"]),
        (HEAD + GOOD.replace(",123456", ",123457"), ["cuts-stamp-differs"]),
        (HEAD + GOOD.replace(",123456", ",12345"), ["cuts-stamp-unreadable"]),
        (HEAD + GOOD.replace("A,1,", "A,11,"), ["cuts-no-such-depth"]),
        (HEAD + GOOD.replace("A,1,", "A,,"), ["cuts-no-such-depth"]),
        (
            HEAD + GOOD.replace("A,1,2,3,4,5,6,123456", "A,,,,,,,"),
            ["cuts-none"],
        ),
        (HEAD + GOOD + ",1,2,3,4,5,6,\n", ["cuts-no-key"]),
        ("name,stamped\nA,123456\n", ["cuts-column-unknown", "cuts-column-missing"]),
        ("key,colour\nA,blue\n", ["cuts-column-unknown", "cuts-column-missing"]),
        ("key,c1,c2,c3,c4,c5\nA,1,2,3,4,5\n", ["cuts-column-missing"]),
        ("key,c1,c2,c3,c4,c5,c6,c7\nA,1,2,3,4,5,6,7\n", ["cuts-too-many"]),
        ("", ["chart-empty"]),
    ],
)
def test_each_fault_has_its_finding(tmp_path: Path, table: str, found: list[str]) -> None:
    """One fault in a table gives that finding and no cuts; the row that has it is not missing."""
    cuts = _read(tmp_path, table)
    assert codes(cuts.findings) == found
    assert cuts.bittings is None


def test_all_faults_at_once_and_no_cut_in_any(tmp_path: Path) -> None:
    """A table with several faults tells them all, by row; no text repeats a cut."""
    table = HEAD + "A,1,2,3,4,5,6,654321\nB,3,4,5,6,7,77,\nC,2,4,6,8,6,4,\nA,2,2,2,2,2,2,\n"
    cuts = _read(tmp_path, table)
    assert {one.place.row for one in cuts.findings if one.place.row} == {2, 3, 4}
    text = " ".join(messages.line(one) for one in cuts.findings)
    for secret in ("654321", "123456", "77", "246864"):
        assert secret not in text


def test_too_steep_a_key_is_taken_and_said(tmp_path: Path) -> None:
    """Beyond MACS 7 an existing key stays what it is, with a caution."""
    cuts = _read(tmp_path, HEAD + GOOD.replace("A,1,2,3,4,5,6,123456", "A,0,9,3,4,5,6,"))
    assert cuts.bittings is not None
    assert cuts.bittings[0] == (0, 9, 3, 4, 5, 6)
    assert codes(cuts.findings) == ["cuts-macs"]


def test_cuts_given_in_the_chart_must_agree(tmp_path: Path) -> None:
    """A whole or partial cut of the chart is held against the table."""
    keys = "key,under,cuts\nA,,12????\nB,,\n"
    paths = write(tmp_path, keys=keys)
    schedule = write(tmp_path, doors="door,keys\nLoft 1,A\nLoft 2,B\n")
    read = read_chart(schedule["doors"], paths["keys"])
    made = load_format(FORMAT).format
    assert read.chart is not None
    assert made is not None
    fixed = tuple(made.read_cuts(key.given) if key.given else None for key in read.chart.keys)
    table = write(tmp_path, cuts=HEAD + GOOD)["cuts"]
    assert cuts_for(table, read.chart, made, fixed).bittings is not None
    table.write_text(HEAD + GOOD.replace("A,1,2,3,4,5,6,123456", "A,1,4,3,4,5,6,"))
    assert codes(cuts_for(table, read.chart, made, fixed).findings) == ["cuts-not-as-given"]


def test_control_rows_are_control_keys(tmp_path: Path) -> None:
    """Rows `control` and `control:GROUP` are no keys of the chart."""
    head = "key,c1,c2,c3,c4,c5,c6,c7\n"
    rows = "A,1,2,3,4,5,6,7\nB,3,4,5,6,7,8,7\ncontrol,0,0,1,1,2,2,3\ncontrol:north,9,9,8,8,7,7,6\n"
    cuts = _read(tmp_path, head + rows, "ic-7x10-0125")
    assert [(one.group, one.levels) for one in cuts.controls] == [
        ("", (0, 0, 1, 1, 2, 2, 3)),
        ("north", (9, 9, 8, 8, 7, 7, 6)),
    ]
    assert cuts.bittings is not None
    assert len(cuts.bittings) == 2


def test_the_tables_of_a_job_are_read_again(tmp_path: Path) -> None:
    """What the program writes it reads, names that look like formulas included."""
    from tests.workflow.kit import KEYNOTES_CHART, job_of, pinned

    chart = KEYNOTES_CHART.replace("sales", "'+sales").replace("\n101", "\n'-101")
    cuts = MENDED_BITTINGS.replace("sales", "'+sales")
    job = job_of(pinned(tmp_path, cuts, chart=chart))
    assert job.chart.keys[0].name == "+sales"
    text = (tmp_path / "job/bittings.csv").read_text()
    assert "\n'+sales," in text
    again = job_of(pinned(tmp_path, text, chart=chart, out=tmp_path / "again"))
    assert again == job
