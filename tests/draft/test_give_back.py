"""The keying of a proved job back to the building: symbols and cylinders, never a cut."""

from dataclasses import replace
from pathlib import Path

import openpyxl

from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.job import FaultKind, Job, ProofFault, ProofReport
from pinloom.draft import give_back
from pinloom.hardware import load_format
from tests.draft.kit import building, quay

Table = list[tuple[object, ...]]


def job(*, faults: tuple[ProofFault, ...] = ()) -> Job:
    """Three cylinders with cuts that stand nowhere else, one of them of no door of the quay."""
    made = load_format("us-6x10-015").format
    assert made is not None
    chart = AccessChart.build(
        [
            Door(name="Door 002", cylinder="rim", keyway="K1", count=2, core_group="north"),
            Door(name="Door 003 bolt", opening="Door 003"),
            Door(name="Door 003 latch", opening="Door 003", hardware="us-5x10-015b"),
            Door(name="Boat shed", opening="elsewhere"),
        ],
        [
            Key(name="TOP", note="cut 975310"),
            Key(name="AA", under="TOP"),
            Key(name="AA1", under="AA", copies=3, given="864209", note="864209"),
            Key(name="AA9", under="AA", standing=KeyStanding.RESERVED),
        ],
        {
            "Door 002": ["AA1", "AA", "TOP"],
            "Door 003 bolt": ["AA", "TOP"],
            "Door 003 latch": ["AA1", "TOP"],
            "Boat shed": ["TOP"],
        },
    )
    cuts = {"AA": (7, 5, 3, 1, 9, 2), "AA1": (8, 6, 4, 2, 0, 9), "AA9": (1, 9, 1, 9, 1, 9)}
    return Job(
        name="Alder Quay",
        revision=2,
        chart=chart,
        formats=(made,),
        bittings=tuple(cuts.get(key.name, (9, 7, 5, 3, 1, 0)) for key in chart.keys),
        controls=(),
        pinning=(),
        proof=ProofReport(faults=faults, pairs=16, tightest=None, fingerprint="x"),
    )


def tables(path: Path) -> dict[str, Table]:
    """All sheets of a workbook."""
    book = openpyxl.load_workbook(path)
    return {page.title: list(page.iter_rows(values_only=True)) for page in book}


def test_attribute_rows(tmp_path: Path) -> None:
    """Each cylinder gives its facts as rows of the sheet Attribute, under its door's own name."""
    sheets = quay()
    sheets["Component"][2][0] = "Door 002 "  # as the records write it
    found = give_back(
        job(), building(tmp_path, sheets), tmp_path / "a.xlsx", created_by="shop@example.org"
    )
    [unknown] = found
    assert (unknown.code, unknown.value("doors")) == ("draft-give-back-unknown", "Boat shed")
    rows = tables(tmp_path / "a.xlsx")["Attribute"]
    assert rows[0][:7] == (
        "Name",
        "CreatedBy",
        "CreatedOn",
        "Category",
        "SheetName",
        "RowName",
        "Value",
    )
    told = {(row[5], row[0]): row[6] for row in rows[1:]}
    assert told["Door 002 ", "KeySymbols"] == "AA1"
    assert told["Door 002 ", "OpenedByKeys"] == "AA, AA1, TOP"
    assert told["Door 002 ", "CylinderCount"] == "2"
    assert told["Door 002 ", "CylinderType"] == "rim"
    assert told["Door 002 ", "Keyway"] == "K1"
    assert told["Door 002 ", "CoreGroup"] == "north"
    assert told["Door 003", "KeySymbols (Door 003 bolt)"] == "AA"
    assert told["Door 003", "KeySymbols (Door 003 latch)"] == "AA1"
    assert told["Door 003", "CylinderFormat (Door 003 latch)"] == "us-5x10-015b"
    assert {row[4] for row in rows[1:]} == {"Component"}
    assert {row[1] for row in rows[1:]} == {"shop@example.org"}
    assert len({(row[5], row[0]) for row in rows}) == len(rows)


def test_plain_workbook(tmp_path: Path) -> None:
    """The plain workbook lists cylinders, keys with what they open, and what was proved."""
    plain = tmp_path / "p.xlsx"
    give_back(job(), building(tmp_path), tmp_path / "a.xlsx", plain=plain)
    sheets = tables(plain)
    cylinders = {row[0]: row for row in sheets["cylinders"]}
    assert cylinders["Door 003 latch"][1:5] == ("Door 003", "001, 003", "AA1", "AA1, TOP")
    assert cylinders["Boat shed"][1] is None
    keys = {row[0]: row for row in sheets["keys"]}
    assert keys["AA1"][1:6] == ("AA", "in use", "3", "2", "Door 002, Door 003 latch")
    assert keys["AA9"][2] == "reserved"


def test_no_cut_is_given_back(tmp_path: Path) -> None:
    """No cell holds the cuts of any key: stamped, given beforehand or written into a note."""
    plain = tmp_path / "p.xlsx"
    made = job()
    give_back(made, building(tmp_path), tmp_path / "a.xlsx", plain=plain)
    secrets = {made.key_format.stamp(levels) for levels in made.bittings} | {"864209", "975310"}
    assert len(secrets) == 4
    for path in (tmp_path / "a.xlsx", plain):
        for rows in tables(path).values():
            digits = {"".join(c for c in str(cell) if c.isdigit()) for row in rows for cell in row}
            assert not any(secret in text for secret in secrets for text in digits)


def test_only_a_proved_job(tmp_path: Path) -> None:
    """A job with a fault is refused and nothing is written."""
    wrong = ProofFault(kind=FaultKind.OPENS, key="AA1", door="Boat shed")
    found = give_back(job(faults=(wrong,)), building(tmp_path), tmp_path / "a.xlsx")
    assert [f.code for f in found] == ["draft-give-back-unproved"]
    assert not (tmp_path / "a.xlsx").exists()


def test_same_job_same_bytes(tmp_path: Path) -> None:
    """Giving back twice gives the same bytes; another revision is told."""
    for name, made in (("a", job()), ("b", job()), ("c", replace(job(), revision=3))):
        give_back(
            made, building(tmp_path), tmp_path / f"{name}.xlsx", plain=tmp_path / f"{name}p.xlsx"
        )
    data = {name: (tmp_path / f"{name}p.xlsx").read_bytes() for name in "abc"}
    assert data["a"] == data["b"] != data["c"]
