"""Bad input is data: every fault is a finding with its place, all at once, never an exception."""

import time
from pathlib import Path

import pytest

from pinloom import messages
from pinloom.chart import read_chart
from pinloom.core.findings import Finding, Severity
from tests.chart.kit import codes, faults, good, text_file

KEYS = "key,under\nA1,A\nA,\n"

#: matrix text, code, row, column
MATRIX_FAULTS = [
    ("", "chart-empty", None, ""),
    ("\n\n", "chart-empty", None, ""),
    ("door,A\n", "chart-no-rows", 1, ""),
    ("name,A\nShed,x\n", "chart-column-missing", 1, ""),
    ("door,opening\nShed,x\n", "chart-no-keys", 1, ""),
    ("door,A,A\nShed,x,x\n", "chart-column-twice", 1, "C"),
    ("door,A,a b,a  b\nShed,x,x,x\n", "chart-column-twice", 1, "D"),
    ("door,A,\nShed,x,x\n", "chart-column-unnamed", 2, "C"),
    ("door,A\nShed,x,x\n", "chart-row-long", 2, "C"),
    ("door,A\nShed,x\n,x\n", "chart-door-unnamed", 3, "door"),
    ("door,A\nShed,x\nShed,x\n", "chart-door-twice", 3, "door"),
    ("door,A\nShed  1,x\n Shed 1,x\n", "chart-door-twice", 3, "door"),
    ("door,A\nShed,x\nStore,\n", "chart-door-shut", 3, "door"),
    ("door,A,B\nShed,x,\n", "chart-key-idle", 1, "B"),
    ("door,A,control\nShed,x,x\n", "chart-key-refused", 1, "control"),
    ("door,A,Control:north\nShed,x,x\n", "chart-key-refused", 1, "Control:north"),
    ("door,A,NMK\nShed,x,x\n", "chart-key-nmk", 1, "NMK"),
    ("door,A\n=Shed,x\nStore,x\n", "chart-formula", 2, "door"),
    ("door,A,=B\nShed,x,x\n", "chart-formula", 1, "C"),
    ("door,A\nShed,=1+1\nStore,x\n", "chart-formula", 2, "A"),
    ("door,count,A\nShed,two,x\n", "chart-number", 2, "count"),
    ("door,count,A\nShed,0,x\n", "chart-number", 2, "count"),
    ("door,count,A\nShed,-3,x\n", "chart-number", 2, "count"),
    ("door,count,A\nShed,1.5,x\n", "chart-number", 2, "count"),
    ("door,unpinned,A\nShed,0,x\n", "chart-unpinned", 2, "unpinned"),
    ("door,unpinned,A\nShed,5 5,x\n", "chart-unpinned", 2, "unpinned"),
    ("door,unpinned,A\nShed,last,x\n", "chart-unpinned", 2, "unpinned"),
    ("door,except,A\nShed,B,x\n", "chart-except-unknown", 2, "except"),
    ("door,except,A\nShed,A,x\n", "chart-except-listed", 2, "except"),
    ("door,A\nShed\u200b1,x\n", "chart-name-sign", 2, "door"),
    ("door,A\u202e\nShed,x\n", "chart-name-sign", 1, "A\u202e"),
    ('door,A\nShed,x\n"Store,x\n', "chart-csv-quoting", 3, ""),
    ('door,A\nShed,x\n"St"ore,x\n', "chart-csv-quoting", 3, ""),
    ("door,keys\nShed,A\n", "chart-keys-missing", 1, "keys"),
]


@pytest.mark.parametrize(("text", "code", "row", "column"), MATRIX_FAULTS)
def test_fault_of_a_matrix(
    tmp_path: Path, text: str, code: str, row: int | None, column: str
) -> None:
    """One fault in one file gives exactly one fault, at its place."""
    read = read_chart(text_file(tmp_path, "m.csv", text))
    assert read.chart is None
    [only] = faults(read)
    assert (only.code, only.place.file) == (code, "m.csv")
    assert (only.place.row, only.place.column) == (row, column)


#: doors, keys, code, file, row, column
SCHEDULE_FAULTS = [
    ("door,keys\nShed,A1\nStore,\n", KEYS, "chart-door-shut", "d.csv", 3, "door"),
    ("door,keys\nShed,A1 B\n", KEYS, "chart-key-unknown", "d.csv", 2, "keys"),
    ("door,keys\nShed,A1\n", KEYS + "B,\n", "chart-key-idle", "k.csv", 4, "key"),
    ("door,keys\nShed,A1\n", KEYS + "A,\n", "chart-key-twice", "k.csv", 4, "key"),
    ("door,keys\nShed,A1\n", KEYS + ",A\n", "chart-key-unnamed", "k.csv", 4, "key"),
    ("door,keys\nShed,A1 B\n", KEYS + "B,C\n", "chart-under-unknown", "k.csv", 4, "under"),
    (
        "door,keys\nShed,A1 B\n",
        KEYS + "B,C\nC,D\nD,B\n",
        "chart-under-circle",
        "k.csv",
        4,
        "under",
    ),
    ("door,keys\nShed,A1 B\n", KEYS + "B,B\n", "chart-under-circle", "k.csv", 4, "under"),
    ("door,keys\nShed,A1\n", KEYS + "control:,\n", "chart-key-refused", "k.csv", 4, "key"),
    ("door,keys,excpet\nShed,A1,A\n", KEYS, "chart-column-misspelt", "d.csv", 1, "excpet"),
    ("door,keys,expect\nShed,A1,A\n", KEYS, "chart-column-misspelt", "d.csv", 1, "expect"),
    ("door,keys,except\nShed,A1,A1\n", KEYS, "chart-except-listed", "d.csv", 2, "except"),
    ("door,keys,except\nShed,A1,Z\n", KEYS, "chart-except-unknown", "d.csv", 2, "except"),
    ("keys\nA1\n", KEYS, "chart-column-missing", "d.csv", 1, ""),
    ("door,keys\nShed,A1\n", "name,under\nA1,\n", "chart-column-missing", "k.csv", 1, ""),
    ("door,keys\nShed,A1\n", "", "chart-empty", "k.csv", None, ""),
]


@pytest.mark.parametrize(("doors", "keys", "code", "file", "row", "column"), SCHEDULE_FAULTS)
def test_fault_of_a_schedule(
    tmp_path: Path, doors: str, keys: str, code: str, file: str, row: int | None, column: str
) -> None:
    """One fault in one of two files gives a fault at its place; what follows from it may follow."""
    read = read_chart(text_file(tmp_path, "d.csv", doors), text_file(tmp_path, "k.csv", keys))
    assert read.chart is None
    first = next(f for f in faults(read) if f.code == code)
    assert (first.place.file, first.place.row, first.place.column) == (file, row, column)


#: columns of a table of keys, cell under the last, code
KEY_FAULTS = [
    ("copies", "-1", "chart-number"),
    ("copies", "many", "chart-number"),
    ("copies", "1e3", "chart-number"),
    ("reserved", "perhaps", "chart-yes-no"),
    ("reserved", "yes", "chart-reserved-listed"),
    ("reserved", "retired", "chart-reserved-listed"),
    ("note", "=1", "chart-formula"),
]


@pytest.mark.parametrize(("head", "cell", "code"), KEY_FAULTS)
def test_fault_of_a_key(tmp_path: Path, head: str, cell: str, code: str) -> None:
    """Each column of the table of keys refuses what it cannot hold."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nShed,A1\n")
    keys = text_file(tmp_path, "k.csv", f"key,{head}\nA1,{cell}\n")
    assert [f.code for f in faults(read_chart(doors, keys))] == [code]


def test_twelve_faults_give_twelve_findings(tmp_path: Path) -> None:
    """A schedule with twelve different faults gives these twelve and nothing else."""
    doors = text_file(
        tmp_path,
        "d.csv",
        "door,keys,count,except,unpinned,opening,opening\n"  # 1 a column twice
        "Shed,A1,0,,,,\n"  # 2 a bad number
        "Shed,A1,,,,,\n"  # 3 a door twice
        "Store,,,,,,\n"  # 4 nobody opens it
        "Yard,A2 B7,,,,,\n"  # 5 an unknown key
        "Gate,A2,,A2,,,\n"  # 6 listed and excepted
        "Slip,A2,,,six,,\n"  # 7 no chamber number
        "=Crane,A2,,,,,\n"  # 8 a formula
        "Quay,A2,,,,,,,here\n",  # 9 a cell beyond the heads
    )
    keys = text_file(
        tmp_path,
        "k.csv",
        "key,under,copies\nA1,A,\nA2,A,\nA,,\n"
        "A3,A,\n"  # 10 a key without a door
        "C,D,\nD,C,\n"  # 11 a circle
        "control,,\n",  # 12 a name that is taken
    )
    read = read_chart(doors, keys)
    assert read.chart is None
    assert sorted(codes(read)) == [
        "chart-column-twice",
        "chart-door-shut",
        "chart-door-twice",
        "chart-except-listed",
        "chart-formula",
        "chart-key-idle",
        "chart-key-refused",
        "chart-key-unknown",
        "chart-number",
        "chart-row-long",
        "chart-under-circle",
        "chart-unpinned",
    ]
    for finding in read.findings:
        assert messages.line(finding).count(finding.code) == 1


def test_a_repeated_fault_names_the_first(tmp_path: Path) -> None:
    """The second door of a name, and the second use of an unknown key, point at the first."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nShed,A1\nYard,B\nShed,A1\nGate,B\n")
    keys = text_file(tmp_path, "k.csv", KEYS)
    found = {(f.code, f.place.row): f.first for f in faults(read_chart(doors, keys))}
    rows = {place: first.row if first else None for place, first in found.items()}
    assert rows == {
        ("chart-door-twice", 4): 2,
        ("chart-key-unknown", 3): None,
        ("chart-key-unknown", 5): 3,
    }


def test_the_whole_printed_finding(tmp_path: Path) -> None:
    """A finding prints its place, severity, what is wrong, the first place, what to do, code."""
    read = read_chart(text_file(tmp_path, "m.csv", "door,A\nShed,x\nShed,x\n"))
    assert "\n".join(messages.line(f) for f in read.findings) == (
        "m.csv, row 3, column door: fault: The door Shed is there twice. First seen: m.csv, row 2, "
        "column door. Give each cylinder a name of its own; use opening to join the cylinders of "
        "one opening, and count for identical cylinders. [chart-door-twice]"
    )


def test_unknown_key_is_helped(tmp_path: Path) -> None:
    """A key that differs only in case is named as the one that is probably meant."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nShed,A1\nYard,a1\n")
    [unknown] = faults(read_chart(doors, text_file(tmp_path, "k.csv", KEYS)))
    assert messages.what(unknown).endswith("Probably A1 is meant.")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "latin-1", "cp1252", "utf-32"])
def test_wrong_encodings(tmp_path: Path, encoding: str) -> None:
    """A text in another encoding than UTF-8 is a fault of the file, not of its names."""
    path = tmp_path / "m.csv"
    path.write_bytes("door,A\nWinterl\u00e4ger,x\n".encode(encoding))
    read = read_chart(path)
    assert faults(read)[0].code in ("chart-encoding", "chart-not-text")
    assert read.chart is None
    if encoding in ("latin-1", "cp1252"):
        assert faults(read)[0].place.row == 2


def test_other_faults_show_in_spite_of_the_encoding(tmp_path: Path) -> None:
    """A Latin-1 file still tells its other faults in the same run."""
    path = tmp_path / "m.csv"
    path.write_bytes("door,A\nWinterl\u00e4ger,x\nShed,\n".encode("latin-1"))
    assert [f.code for f in faults(read_chart(path))] == ["chart-encoding", "chart-door-shut"]


def test_byte_order_mark_is_accepted(tmp_path: Path) -> None:
    """UTF-8 with a byte-order mark, as spreadsheets write it, is read like plain UTF-8."""
    path = tmp_path / "m.csv"
    path.write_bytes("\ufeffdoor,A\r\nWinterl\u00e4ger,x\r\n".encode())
    chart = good(read_chart(path))
    assert chart.doors[0].name == "Winterl\u00e4ger"


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"\x00\x01\x02\x03", "chart-not-text"),
        (b"%PDF-1.7\n\x00\x93\xff", "chart-not-text"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "chart-old-workbook"),
        (b"PK\x03\x04 this is no archive", "chart-workbook-damaged"),
        (b"PK\x03\x04", "chart-workbook-damaged"),
    ],
)
def test_files_of_other_kinds(tmp_path: Path, data: bytes, code: str) -> None:
    """What is neither text nor workbook is told as such, whatever its name."""
    path = tmp_path / "m.csv"
    path.write_bytes(data)
    assert codes(read_chart(path)) == [code]


def test_missing_files(tmp_path: Path) -> None:
    """Missing files and folders in their place are findings, each with its name."""
    read = read_chart(tmp_path / "none.csv", tmp_path)
    assert codes(read) == ["chart-file-missing", "chart-file-unreadable"]
    assert read.findings[0].place.file == "none.csv"


def test_separators_of_other_spreadsheets(tmp_path: Path) -> None:
    """Semicolons and tabs are read, with a note."""
    for name, text in (("s.csv", "door;A\nShed;x\n"), ("t.csv", "door\tA\nShed\tx\n")):
        read = read_chart(text_file(tmp_path, name, text))
        assert [door.name for door in good(read).doors] == ["Shed"]
        assert codes(read) == ["chart-separator"]


def cautions(findings: tuple[Finding, ...]) -> list[str]:
    """Codes of what a person should look at."""
    return [f.code for f in findings if f.severity is Severity.CAUTION]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("door,A\nShed,x\nStore,no\n", "chart-mark-odd"),
        ("door,A\nShed,-\n", "chart-mark-odd"),
        ("door,excpet,A\nShed,x,x\n", "chart-key-like-column"),
        ("door,A\nShed,x\nshed,x\n", "chart-names-alike"),
        ("door,except,A,A1\nShed,NMK,x,x\nYard,,x,\n", "chart-nmk-marked"),
    ],
)
def test_cautions_of_a_matrix(tmp_path: Path, text: str, code: str) -> None:
    """What can be read, but was probably not meant, is read and said."""
    read = read_chart(text_file(tmp_path, "m.csv", text))
    assert read.chart is not None
    assert code in cautions(read.findings)


def test_unknown_columns_of_a_schedule(tmp_path: Path) -> None:
    """An unknown column is said; one in round brackets is for people and silent."""
    doors = text_file(tmp_path, "d.csv", "door,keys,colour,(why)\nShed,A1,red,old\n")
    read = read_chart(doors, text_file(tmp_path, "k.csv", KEYS))
    assert cautions(read.findings) == ["chart-column-unknown"]


def test_remarks_beside_a_matrix_are_no_keys(tmp_path: Path) -> None:
    """In a matrix a head in round brackets is no key, and a note says so."""
    read = read_chart(text_file(tmp_path, "m.csv", "door,A,(why)\nShed,x,old\n"))
    assert [key.name for key in good(read).keys] == ["A"]
    assert codes(read) == ["chart-column-remark"]


def test_short_rows_are_noted_once(tmp_path: Path) -> None:
    """Rows that end early are read as blank, with one note for all of them."""
    read = read_chart(text_file(tmp_path, "m.csv", "door,A,B\nShed,x\nStore,x,x\nYard,x\n"))
    [short] = [f for f in read.findings if f.code == "chart-row-short"]
    assert (short.place.row, short.value("rows")) == (2, "2")


@pytest.mark.parametrize("size", [20_000])
def test_unreasonable_tables_of_keys(tmp_path: Path, size: int) -> None:
    """A circle and a chain through 20,000 keys, and as many unknown keys, are told in seconds and
    in short sentences.
    """
    door = text_file(tmp_path, "d.csv", "door,keys\nShed,K0\n")
    names = [f"K{i}" for i in range(size)]
    above = [*names[1:], ""]
    chain = "".join(f"{name},{master}\n" for name, master in zip(names, above, strict=True))
    start = time.perf_counter()
    assert read_chart(door, text_file(tmp_path, "k.csv", f"key,under\n{chain}")).chart is not None
    circle = read_chart(door, text_file(tmp_path, "k.csv", f"key,under\n{chain[:-1]}K0\n"))
    assert [f.code for f in faults(circle)] == ["chart-under-circle"]
    assert len(messages.line(faults(circle)[0])) < 300
    doors = text_file(tmp_path, "d.csv", "door,keys\n" + "".join(f"D{n},x{n}\n" for n in names))
    unknown = read_chart(doors, text_file(tmp_path, "k.csv", KEYS))
    assert codes(unknown).count("chart-key-unknown") == size
    assert time.perf_counter() - start < 30
