"""The grammar of the trade's standard key symbols.

Sources, named but quoted from memory: Door and Hardware Institute, "Keying Systems and
Nomenclature"; glossary of the Locksmith Industry and Security Training Council (entries cross
keying, keyset symbol, NMK, SKD, standard key coding).
"""

from pathlib import Path

import pytest

from pinloom import messages
from pinloom.chart import read_chart
from pinloom.chart.symbols import (
    CylinderSymbol,
    SymbolKind,
    implied_masters,
    kind_of,
    master_of,
    read_cylinder,
)
from tests.chart.kit import codes, faults, good, text_file, who_opens


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("AA1", SymbolKind.CHANGE),
        ("A1", SymbolKind.CHANGE),
        ("ABC12", SymbolKind.CHANGE),
        ("A", SymbolKind.MASTER),
        ("AA", SymbolKind.MASTER),
        ("GM", SymbolKind.MASTER),
        ("GMK", SymbolKind.LEVEL),
        ("GGM", SymbolKind.LEVEL),
        ("TMK", SymbolKind.LEVEL),
        ("SKD1", SymbolKind.SINGLE),
        ("aa1", None),
        ("1AA", None),
        ("AA01", None),
        ("AA0", None),
        ("XA", None),
        ("cleaner", None),
        ("AA 1", None),
        ("", None),
    ],
)
def test_kinds_of_symbols(name: str, kind: SymbolKind | None) -> None:
    """Letters are masters, letters with a number change keys; level names and SKD are special."""
    assert kind_of(name) is kind


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("AA1", CylinderSymbol(key="AA1")),
        ("AA1(NMK)", CylinderSymbol(key="AA1", not_master_keyed=True)),
        ("SKD12", CylinderSymbol(key="SKD12")),
        ("XAA1", CylinderSymbol(key="AA1", crossed=True)),
        ("X1X", CylinderSymbol(key="", crossed=True)),
        ("X1X(NMK)", None),
        ("X1", None),
        ("XXA1", None),
        ("AA1(nmk)", None),
    ],
)
def test_symbols_of_cylinders(text: str, symbol: CylinderSymbol | None) -> None:
    """NMK is a suffix in brackets; X in front or around marks cross-keying."""
    assert read_cylinder(text) == symbol


@pytest.mark.parametrize(
    ("names", "under"),
    [
        # two levels: the master is the letters themselves, whatever their number
        ({"AA", "AA1", "AA2"}, {"AA": "", "AA1": "AA", "AA2": "AA"}),
        ({"A", "A1"}, {"A": "", "A1": "A"}),
        # three levels: one letter above two
        (
            {"A", "AA", "AB", "AA1", "AB1"},
            {"A": "", "AA": "A", "AB": "A", "AA1": "AA", "AB1": "AB"},
        ),
        # four levels: a key above all letters
        (
            {"GGM", "A", "B", "AA", "BA", "AA1", "BA1"},
            {"GGM": "", "A": "GGM", "B": "GGM", "AA": "A", "BA": "B", "AA1": "AA", "BA1": "BA"},
        ),
        # a change key directly under the grand master, and one single keyed
        ({"A", "AA", "AA1", "A1", "SKD1"}, {"A1": "A", "SKD1": "", "AA1": "AA"}),
        # a level that is left out is skipped
        ({"A", "AAA1"}, {"AAA1": "A"}),
    ],
)
def test_hierarchy_by_levels(names: set[str], under: dict[str, str]) -> None:
    """A key stands under the nearest master that its letters name."""
    assert {name: master_of(name, names) for name in under} == under


@pytest.mark.parametrize(
    ("used", "implied"),
    [
        ({"AA1", "AA2"}, ["AA"]),
        ({"AA1", "AB1"}, ["A", "AA", "AB"]),
        ({"AA1", "BA1"}, ["A", "AA", "B", "BA", "GGM"]),
        ({"AA1", "BA1", "TMK"}, ["A", "AA", "B", "BA"]),
        ({"A1", "B1"}, ["A", "B", "GMK"]),
        ({"AA1", "A"}, ["AA"]),
        ({"AAA1", "BAA1"}, ["A", "AA", "AAA", "B", "BA", "BAA", "GGGM"]),
        ({"SKD1", "SKD2"}, []),
        (set(), []),
    ],
)
def test_implied_masters_by_levels(used: set[str], implied: list[str]) -> None:
    """Two-level symbols call for one master, three-level ones for a grand master, and so on."""
    assert implied_masters(used) == implied


SCHEDULE = """\
door,keys,operated by,except
Office,AA1,,
Sales,AB1,,
Hall,XAA2,AB1 AB2,
Bike store,X1X,AA1 AB1,
Safe,AA3(NMK),,
Archive,AA4 (NMK),,
Meter,SKD1,,
Director,AA5,,A
Plant,AB,,
Second sales,AB2,,
"""
OPENS = {
    "Office": {"AA1", "AA", "A"},
    "Sales": {"AB1", "AB", "A"},
    "Hall": {"AA2", "AA", "AB1", "AB2", "AB", "A"},
    "Bike store": {"AA1", "AA", "AB1", "AB", "A"},
    "Safe": {"AA3"},
    "Archive": {"AA4"},
    "Meter": {"SKD1"},
    "Director": {"AA5", "AA"},
    "Plant": {"AB", "A"},
    "Second sales": {"AB2", "AB", "A"},
}


def test_schedule_in_symbols(tmp_path: Path) -> None:
    """The symbols alone say who opens what; the masters that they call for are noted."""
    read = read_chart(text_file(tmp_path, "d.csv", SCHEDULE), symbols=True)
    assert who_opens(good(read)) == OPENS
    implied = [f.value("key") for f in read.findings if f.code == "chart-master-implied"]
    assert implied == ["AA"]  # A and AB stand in the file


def test_symbols_with_a_table_of_keys(tmp_path: Path) -> None:
    """With a table, only its keys exist; names of its own and a higher master fit in."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nOffice,AA1 cleaner\nSales,AB1\n")
    keys = text_file(
        tmp_path, "k.csv", "key,under,copies\nAA1,,2\nAB1,,\nA,TOP,\nTOP,,\ncleaner,,\n"
    )
    read = read_chart(doors, keys, symbols=True)
    assert who_opens(good(read)) == {
        "Office": {"AA1", "A", "TOP", "cleaner"},
        "Sales": {"AB1", "A", "TOP"},
    }
    assert "chart-master-implied" not in codes(read)


@pytest.mark.parametrize(
    ("row", "code"),
    [
        ("Shed,aa1,", "chart-symbol-unknown"),
        ("Shed,1AA,", "chart-symbol-unknown"),
        ("Shed,AA01,", "chart-symbol-unknown"),
        ("Shed,cleaner,", "chart-symbol-unknown"),
        ("Shed,XAA1,", "chart-cross-unlisted"),
        ("Shed,X1X,", "chart-cross-unlisted"),
        ("Shed,XAA1,boss", "chart-symbol-unknown"),
        ("Shed,AA1(NMK) AA2,", "chart-nmk-mixed"),
        ("Shed,,", "chart-door-shut"),
    ],
)
def test_faults_of_symbols(tmp_path: Path, row: str, code: str) -> None:
    """What the grammar does not know is a fault, and only that."""
    text = f"door,keys,operated by\nOffice,AA1,\n{row}\n"
    assert [
        f.code for f in faults(read_chart(text_file(tmp_path, "d.csv", text), symbols=True))
    ] == [code]


@pytest.mark.parametrize(("wrong", "right"), [("aa1", "AA1"), ("1AA", "AA1"), ("AA01", "AA1")])
def test_near_symbols_are_named(tmp_path: Path, wrong: str, right: str) -> None:
    """A symbol in another spelling is answered with the one that is probably meant."""
    read = read_chart(text_file(tmp_path, "d.csv", f"door,keys\nShed,{wrong}\n"), symbols=True)
    assert messages.what(faults(read)[0]).endswith(f"Perhaps {right} is meant.")


def test_table_and_symbol_must_agree(tmp_path: Path) -> None:
    """A table that puts a key under another master than its symbol does is a fault."""
    doors = text_file(tmp_path, "d.csv", "door,keys\nOffice,AA1\nSales,AB1\nMeter,SKD1\n")
    keys = text_file(tmp_path, "k.csv", "key,under\nAA1,AB\nAB1,AB\nAA,A\nAB,A\nA,\nSKD1,A\n")
    read = read_chart(doors, keys, symbols=True)
    wrong = [f for f in faults(read) if f.code == "chart-under-symbol"]
    assert [f.value("key") for f in wrong] == ["AA1", "SKD1"]


def test_listed_operators_without_a_cross(tmp_path: Path) -> None:
    """`operated by` beside a symbol without X is read, with a caution."""
    text = "door,keys,operated by\nOffice,AA1,AB1\nSales,AB1,\n"
    read = read_chart(text_file(tmp_path, "d.csv", text), symbols=True)
    assert who_opens(good(read))["Office"] == {"AA1", "AA", "AB1", "AB", "A"}
    assert "chart-cross-unmarked" in codes(read)


def test_symbols_need_a_schedule(tmp_path: Path) -> None:
    """A matrix cannot be read as symbols."""
    read = read_chart(text_file(tmp_path, "m.csv", "door,AA1\nShed,x\n"), symbols=True)
    assert codes(read) == ["chart-column-missing"]
