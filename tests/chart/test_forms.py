"""The plain forms of a chart file give the same chart."""

from pathlib import Path

import pytest

from pinloom import messages
from pinloom.chart import read_chart
from pinloom.core.chart import Blank, KeyStanding
from tests.chart.kit import book_file, codes, faults, good, text_file, who_opens

MATRIX = """\
door,opening,TOP,AA,AA1,AA2,cleaner
Loft 1,,x,x,x,,
Loft 2,,x,x,,x,
Loft stair,,x,x,x,x,x
"""
DOORS = """\
door,keys
Loft 1,AA1
Loft 2,AA2
Loft stair,AA1 AA2 cleaner
"""
KEYS = """\
key,under
AA1,AA
AA2,AA
AA,TOP
TOP,
cleaner,
"""
OPENS = {
    "Loft 1": {"TOP", "AA", "AA1"},
    "Loft 2": {"TOP", "AA", "AA2"},
    "Loft stair": {"TOP", "AA", "AA1", "AA2", "cleaner"},
}


def test_matrix(tmp_path: Path) -> None:
    """The example matrix gives exactly its marks; keys with equal doors are noted."""
    read = read_chart(text_file(tmp_path, "m.csv", MATRIX))
    assert who_opens(good(read)) == OPENS
    assert codes(read) == ["chart-keys-same"]


def test_schedule(tmp_path: Path) -> None:
    """The example schedule opens what the example matrix opens."""
    doors, keys = text_file(tmp_path, "d.csv", DOORS), text_file(tmp_path, "k.csv", KEYS)
    schedule = good(read_chart(doors, keys))
    assert who_opens(schedule) == OPENS
    assert {key.name: key.under for key in schedule.keys}["AA1"] == "AA"


def test_workbook_is_a_schedule_by_itself(tmp_path: Path) -> None:
    """Sheets named doors and keys need no second file, wherever they stand in the book."""
    grids = {
        "cover": [["Alder Quay"]],
        "Keys": [line.split(",") for line in KEYS.splitlines()],
        "Doors": [line.split(",") for line in DOORS.splitlines()],
    }
    assert who_opens(good(read_chart(book_file(tmp_path, "b.xlsx", grids)))) == OPENS


def test_first_sheet_unless_named(tmp_path: Path) -> None:
    """A workbook gives its first sheet; `sheet` names another, whatever its case."""
    book = book_file(
        tmp_path,
        "b.xlsx",
        {"one": [["door", "K"], ["Shed", "x"]], "two": [["door", "L"], ["Store", "x"]]},
    )
    assert who_opens(good(read_chart(book))) == {"Shed": {"K"}}
    assert who_opens(good(read_chart(book, sheet="TWO"))) == {"Store": {"L"}}
    read = read_chart(book, sheet="three")
    assert codes(read) == ["chart-sheet-missing"]
    assert "one, two" in messages.what(read.findings[0])


def test_a_workbook_may_hold_the_keys_of_a_text_file(tmp_path: Path) -> None:
    """The two halves of a schedule may be files of different kinds."""
    doors = text_file(tmp_path, "d.csv", DOORS)
    keys = book_file(tmp_path, "k.xlsx", {"any": [line.split(",") for line in KEYS.splitlines()]})
    assert who_opens(good(read_chart(doors, keys))) == OPENS


def test_optional_columns(tmp_path: Path) -> None:
    """Every optional column of the interface lands in its field."""
    doors = text_file(
        tmp_path,
        "d.csv",
        "door,keys,opening,cylinder,hardware,keyway,count,except,unpinned,core group\n"
        "Shed,A1,Gate,rim,us-5x6-023,K1,3,TOP,5 4,north\n"
        "Store,A1,,,,,,NMK,,\nYard,A,,,,,,,,\n",
    )
    keys = text_file(
        tmp_path,
        "k.csv",
        "key,under,copies,reserved,cuts,blank,note\n"
        "A1,A,4,,12??45,B1,for the yard\nA,TOP,,,,,\nTOP,,,,,,\nA9,A,,yes,,,\n",
    )
    chart = good(read_chart(doors, keys))
    shed, store, _ = chart.doors
    names = (shed.opening, shed.cylinder, shed.hardware, shed.keyway, shed.core_group)
    assert names == ("Gate", "rim", "us-5x6-023", "K1", "north")
    assert (shed.count, shed.excepted, shed.unpinned) == (3, ("TOP",), (4, 5))
    assert store.excepted == ("NMK",)
    assert who_opens(chart) == {"Shed": {"A1", "A"}, "Store": {"A1"}, "Yard": {"A", "TOP"}}
    key = next(key for key in chart.keys if key.name == "A1")
    assert (key.copies, key.given, key.blank, key.note) == (4, "12??45", "B1", "for the yard")
    standings = {key.name: key.standing for key in chart.keys}
    assert standings["A9"] is KeyStanding.RESERVED


def test_optional_columns_of_a_matrix(tmp_path: Path) -> None:
    """Optional columns are none of the keys, wherever they stand and however they are written."""
    matrix = "door,A,Core Group,B,COUNT\nShed,x,north,x,2\nStore,,,x,\n"
    chart = good(read_chart(text_file(tmp_path, "m.csv", matrix)))
    assert [key.name for key in chart.keys] == ["A", "B"]
    assert (chart.doors[0].core_group, chart.doors[0].count) == ("north", 2)


def test_except_takes_single_masters_or_all(tmp_path: Path) -> None:
    """A named master stays out and those above it come in; NMK leaves the listed keys alone."""
    doors = "door,keys,except\nOne,A1,A\nTwo,A1,NMK\nThree,A1 A,NMK\nFour,A1,\n"
    keys = "key,under\nA1,A\nA,GM\nGM,TOP\nTOP,\n"
    chart = good(
        read_chart(text_file(tmp_path, "d.csv", doors), text_file(tmp_path, "k.csv", keys))
    )
    assert who_opens(chart) == {
        "One": {"A1", "GM", "TOP"},
        "Two": {"A1"},
        "Three": {"A1", "A"},
        "Four": {"A1", "A", "GM", "TOP"},
    }


def test_reserved_master_opens_nothing(tmp_path: Path) -> None:
    """A planned master opens nothing yet; the master above it does, and a note says so."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nShed,A1\n")
    keys = text_file(tmp_path, "k.csv", "key,under,reserved\nA1,A,\nA,TOP,yes\nTOP,,\n")
    read = read_chart(doors, keys)
    assert who_opens(good(read)) == {"Shed": {"A1", "TOP"}}
    assert "chart-reserved-master" in codes(read)


def test_key_table_beside_a_matrix(tmp_path: Path) -> None:
    """A table of keys adds to a matrix what columns cannot say; the marks decide who opens."""
    matrix = text_file(tmp_path, "m.csv", "door,A,A1\nShed,x,x\nStore,,x\n")
    keys = text_file(tmp_path, "k.csv", "key,under,copies,reserved\nA1,A,3,\nA,,,\nA2,A,,yes\n")
    read = read_chart(matrix, keys)
    chart = good(read)
    assert who_opens(chart) == {"Shed": {"A", "A1"}, "Store": {"A1"}}
    assert [key.copies for key in chart.keys] == [None, 3, None]
    [unmarked] = [f for f in read.findings if f.code == "chart-master-unmarked"]
    assert unmarked.values == (("master", "A"), ("doors", "Store"))


def test_keyways(tmp_path: Path) -> None:
    """A third sheet says which blank enters which keyway; a keyway's name may hold a blank."""
    grids = {
        "doors": [["door", "keys", "keyway"], ["Shed", "A1", "K 1"], ["Store", "A2", "K2"]],
        "keys": [["key", "blank"], ["A1", "B1"], ["A2", "B2"]],
        "keyways": [["blank", "enters"], ["B2", "K2"], ["B1", "K 1 K2"]],
    }
    chart = good(read_chart(book_file(tmp_path, "b.xlsx", grids)))
    assert chart.blanks == (
        Blank(name="B1", enters=("K 1", "K2")),
        Blank(name="B2", enters=("K2",)),
    )
    grids["keys"][1][1] = "B2"
    read = read_chart(book_file(tmp_path, "c.xlsx", grids))
    assert [f.code for f in faults(read)] == ["chart-blank-outside"]


def test_keyways_as_a_file(tmp_path: Path) -> None:
    """The table of keyways may be a file of its own."""
    doors = text_file(tmp_path, "d.csv", "door,A\nShed,x\n")
    keyways = text_file(tmp_path, "w.csv", "blank,enters\nB1,K1\nB2,\n")
    read = read_chart(doors, keyways=keyways)
    assert [f.code for f in faults(read)] == ["chart-blank-nowhere"]


@pytest.mark.parametrize("text", ["yes", "YES", "y", "x", "1", "true"])
def test_words_for_yes(tmp_path: Path, text: str) -> None:
    """A planned key is accepted without a door, whichever word says so."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nShed,A1\n")
    keys = text_file(tmp_path, "k.csv", f"key,under,reserved\nA1,,\nA2,,{text}\n")
    assert codes(read_chart(doors, keys)) == []


@pytest.mark.parametrize(
    ("cell", "opens"),
    [
        ("AA1 AA2", {"AA1", "AA2"}),
        ("AA1,AA2", {"AA1", "AA2"}),
        ("AA1; AA2", {"AA1", "AA2"}),
        ("fire warden AA1", {"fire warden", "AA1"}),
        ("AA1, fire warden", {"fire warden", "AA1"}),
        ("fire warden, AA1", {"fire warden", "AA1"}),
        ("  AA1\nAA2 ", {"AA1", "AA2"}),
    ],
)
def test_lists_of_keys(tmp_path: Path, cell: str, opens: set[str]) -> None:
    """Blanks separate; so do commas and semicolons, and a known name with blanks is found."""
    doors = text_file(tmp_path, "d.csv", f'door,keys\nShed,"{cell}"\nAll,AA1 AA2 fire warden\n')
    keys = text_file(tmp_path, "k.csv", "key,under\nAA1,\nAA2,\nfire warden,\n")
    assert who_opens(good(read_chart(doors, keys)))["Shed"] == opens


def test_a_list_is_read_by_the_plain_rule_first(tmp_path: Path) -> None:
    """Where every word is a key, blanks separate, also when two words are a key as well."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nShed,fire warden\n")
    keys = text_file(tmp_path, "k.csv", "key,reserved\nfire,\nwarden,\nfire warden,yes\n")
    assert who_opens(good(read_chart(doors, keys)))["Shed"] == {"fire", "warden"}


def test_alike_is_noted(tmp_path: Path) -> None:
    """Doors with the same keys and hardware are noted as keyed alike, one note a group."""
    matrix = "door,hardware,A,B\nD1,,x,\nD2,,x,\nD3,f,x,\nD4,,,x\nD10,,x,\n"
    read = read_chart(text_file(tmp_path, "m.csv", matrix))
    [alike] = read.findings
    assert alike.code == "chart-keyed-alike"
    assert alike.value("doors") == "D1, D2, D10"
    assert alike.place.row == 2


def test_many_notes_are_summed_up(tmp_path: Path) -> None:
    """Thirty groups keyed alike give twenty notes and one that says that ten more are alike."""
    rows = "".join(f"D{i}a,K{i}\nD{i}b,K{i}\n" for i in range(30))
    doors = text_file(tmp_path, "d.csv", f"door,keys\n{rows}")
    keys = text_file(tmp_path, "k.csv", "key\n" + "".join(f"K{i}\n" for i in range(30)))
    read = read_chart(doors, keys)
    assert codes(read).count("chart-keyed-alike") == 20
    [more] = [f for f in read.findings if f.code == "chart-more-alike"]
    assert more.value("groups") == "10"
