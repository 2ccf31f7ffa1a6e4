"""A shop's lists: in with every fault at once, out in open formats, and back without a loss."""

import csv
import io
import json
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from pinloom.ledger import counter, enter, lists_in, lists_out, people, stock
from pinloom.ledger.database import Where
from pinloom.ledger.lists import COLUMNS, ListKind
from pinloom.ledger.rows import CopyRow
from pinloom.ledger.store import Ledger, Outcome
from pinloom.ledger.verify import verify
from tests.ledger import kit
from tests.ledger.test_counter import copy_of, person

SITES = "site,building\nAlder Quay,Sail loft\nAlder Quay,Boat hall\n"
PEOPLE = "person,name,organisation,contact\nSailmaker,,yard,\nRigger (2),Rigger,,by radio\n"
KEYS = (
    "site,system,key,copy,stamp,state,holder,out,due,issuer\n"
    "Alder Quay,Old system,A,1,A-1,out,Sailmaker,2025-11-03,2026-06-30,Harbour office\n"
    "Alder Quay,Old system,A,2,A-2,,,,,\n"
    "Alder Quay,Old system,B,,B-1,,Rigger (2),2025-12-24 18:30,,\n"
    "Alder Quay,Old system,B,,B-2,lost,,,,\n"
    "Alder Quay,Old system,B,,B-3,destroyed,,,,\n"
)
BLANKS = "blank,restricted,left\nquay blank,yes,12\nplain blank,no,\n"
SIGNATORIES = "site,person,authority,until\nAlder Quay,Sailmaker,letter of 1 March,2026-12-31\n"


def files(folder: Path, **texts: str) -> list[Path]:
    """CSV files by the names of their lists."""
    for name, content in texts.items():
        (folder / f"{name}.csv").write_text(content, encoding="utf-8")
    return [folder / f"{name}.csv" for name in texts]


def bring(ledger: Ledger, paths: list[Path], *, dry: bool = False) -> Outcome:
    """Read lists and bring them in."""
    lists, said = lists_in.read_lists(paths)
    return ledger.do(lambda tx: [*said, *lists_in.bring_in(tx, lists)], kit.CLERK, dry=dry)


def exported(ledger: Ledger) -> dict[str, bytes]:
    """Every file of an export."""
    return ledger.ask(lambda view: dict(lists_out.written(view)))


def test_lists_come_in(empty: Ledger, tmp_path: Path) -> None:
    """Sites, people, signatories, blanks and keys that exist already, with who has them."""
    paths = files(
        tmp_path,
        keys=KEYS,
        people=PEOPLE,
        sites=SITES,
        blanks=BLANKS,
        signatories=SIGNATORIES,
    )
    outcome = bring(empty, paths)
    assert [one.code for one in outcome.findings] == []
    copies = {row.stamp: row for row in empty.ask(lambda view: view.rows(CopyRow))}
    sailmaker = empty.ask(lambda view: person(view, "Sailmaker"))
    rigger = empty.ask(lambda view: person(view, "Rigger"))
    out = copies["A-1"]
    assert (out.state, out.holder, out.due) == ("out", sailmaker.id, "2026-06-30")
    assert out.out_at == "2025-11-03T00:00:00.000000Z"
    assert (copies["A-2"].state, copies["A-2"].number) == ("in", 2)
    assert (copies["B-1"].state, copies["B-1"].holder) == ("out", rigger.id)
    assert copies["B-1"].out_at == "2025-12-24T18:30:00.000000Z"
    assert [copies[s].state for s in ("B-2", "B-3")] == ["lost", "destroyed"]
    assert [copies[s].number for s in ("B-1", "B-2", "B-3")] == [1, 2, 3]
    assert empty.ask(verify).findings == []


def test_keys_of_a_list_come_back_but_go_out_only_when_approved(
    empty: Ledger, tmp_path: Path
) -> None:
    """Registered keys can be returned; issuing them needs an approved revision that has them."""
    bring(empty, files(tmp_path, keys=KEYS, people=PEOPLE, sites=SITES))
    kit.do(empty, lambda tx: counter.take_back(tx, "A-1"))
    again = kit.refused(empty, lambda tx: counter.issue(tx, "A-1", "Sailmaker"))
    assert again == ["ledger-not-approved"]


def test_a_dry_run_changes_nothing(empty: Ledger, tmp_path: Path) -> None:
    """The dry run says what would come in, and leaves no event."""
    before = empty.ask(lambda view: view.head())
    outcome = bring(empty, files(tmp_path, keys=KEYS, people=PEOPLE, sites=SITES), dry=True)
    assert outcome.done
    assert len(outcome.events) > 10
    assert empty.ask(lambda view: view.head()) == before


FAULTY = {
    "sites": "site,building\nAlder Quay,\nAlder Quay,\n",
    "people": "person,name\nSailmaker,\n,Nobody\nSailmaker,\n",
    "signatories": "site,person,authority,until\nAlder Quay,Diver,letter,\nPier,Sailmaker,x,9\n",
    "blanks": "blank,restricted,left\nquay blank,perhaps,\nplain,no,many\n",
    "keys": (
        "site,system,key,stamp,state,holder,due,cuts\n"
        "Alder Quay,Old,A,A-1,away,,,\n"
        "Alder Quay,Old,A,A-1,out,,,\n"
        "Alder Quay,Old,A,A-3,in,Sailmaker,,\n"
        "Alder Quay,Old,A,A-4,out,Sailmaker,soon,\n"
        "Pier,Old,A,A-5,in,,,\n"
    ),
}


def test_every_fault_is_told_at_once_with_its_place(empty: Ledger, tmp_path: Path) -> None:
    """Many faults in many lists: each is named with file, row and column, and nothing is kept."""
    before = empty.ask(lambda view: view.head())
    outcome = bring(empty, files(tmp_path, **FAULTY))
    found = [
        (one.place.file, one.place.row, one.place.column, one.code.removeprefix("ledger-"))
        for one in outcome.findings
    ]
    assert found == [
        ("keys.csv", None, "cuts", "list-column-unknown"),
        ("sites.csv", 3, "site", "list-row-twice"),
        ("people.csv", 3, "person", "list-cell-empty"),
        ("people.csv", 4, "person", "list-row-twice"),
        ("signatories.csv", 2, "person", "unknown"),
        ("signatories.csv", 3, "", "unknown"),
        ("signatories.csv", 3, "", "bad-date"),
        ("blanks.csv", 2, "restricted", "list-not-yes"),
        ("blanks.csv", 3, "left", "not-a-count"),
        ("keys.csv", 2, "state", "list-not-a-state"),
        ("keys.csv", 3, "stamp", "list-row-twice"),
        ("keys.csv", 3, "holder", "list-no-holder"),
        ("keys.csv", 4, "holder", "list-holder-of-in"),
        ("keys.csv", 5, "due", "bad-date"),
        ("keys.csv", 6, "site", "unknown"),
    ]
    assert outcome.findings[1].first is not None
    assert outcome.findings[1].first.row == 2
    assert empty.ask(lambda view: view.head()) == before


def test_files_that_are_no_lists(empty: Ledger, tmp_path: Path) -> None:
    """Unknown names, missing columns, wrong encodings, formulas and empty files are told on."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "sites"
    sheet.append(["site", "building"])
    sheet.append(["=1+1", "x"])
    book.save(tmp_path / "book.xlsx")
    (tmp_path / "latin.csv").write_bytes("site\nFærge".encode("latin-1"))
    (tmp_path / "fake.xlsx").write_bytes(b"PK but no workbook")
    paths = files(
        tmp_path,
        other="a,b\n1,2\n",
        people="name\nSailmaker\n",
        sites="site,site\nA,B\n",
        blanks="blank\nx,surplus\n",
        doors="",
    )
    names = ("latin.csv", "fake.xlsx", "no such.csv", "book.xlsx")
    paths += [tmp_path / name for name in names]
    outcome = bring(empty, paths)
    found = {(one.place.file, one.code.removeprefix("ledger-list-")) for one in outcome.findings}
    assert found >= {
        ("other.csv", "unknown"),
        ("people.csv", "column-missing"),
        ("sites.csv", "column-twice"),
        ("blanks.csv", "row-long"),
        ("latin.csv", "unreadable"),
        ("fake.xlsx", "unreadable"),
        ("no such.csv", "unreadable"),
        ("book.xlsx", "formula"),
    }
    lists, said = lists_in.read_lists(files(tmp_path, keys="\n\n"))
    assert lists.tables == ()
    assert [one.code for one in said] == ["ledger-list-empty"]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_round_trip_loses_nothing(
    ledger: Ledger, place: Where, clock: kit.Clock, tmp_path: Path, form: str
) -> None:
    """The lists of a ledger, read into another one that knows the same systems, give the same lists
    again, byte for byte, in CSV and in XLSX.
    """
    kit.do(ledger, lambda tx: people.add_person(tx, "Rigger", "other yard", namesake=True))
    kit.do(ledger, lambda tx: people.add_person(tx, "=SUM(1)", contact='+44, "quoted"\n'))
    kit.do(ledger, lambda tx: counter.lose(tx, "TOP-1", "gone"))
    kit.do(ledger, lambda tx: counter.lose(tx, "cleaner-1", "gone with the dinghy"))
    kit.do(ledger, lambda tx: counter.destroy(tx, "TOP-2", "bent"))
    kit.do(ledger, lambda tx: stock.spoil(tx, "quay blank", 3, "slipped"))
    first = exported(ledger)
    csvs = [f"{kind.value}.csv" for kind in ListKind]
    names = csvs if form == "csv" else ["lists.xlsx"]
    for name in names:
        (tmp_path / name).write_bytes(first[name])
    other = kit.new_ledger(place, clock)
    kit.do(other, lambda tx: people.add_site(tx, kit.SITE))
    key, job = kit.key_of(other), kit.blanked_job()
    kit.do(other, lambda tx: enter.enter(tx, key, job, kit.SITE, kit.SYSTEM))
    kit.do(other, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "Owner", "letter"))
    outcome = bring(other, [tmp_path / name for name in names])
    assert [one.code for one in outcome.findings if one.severity.value == "fault"] == []
    again = exported(other)
    for name in (*csvs, "lists.xlsx"):
        assert again[name] == first[name], name
    assert other.ask(verify).findings == []
    other.close()


def test_a_list_does_not_change_what_is_known(ledger: Ledger, tmp_path: Path) -> None:
    """Reading a ledger's own lists again is refused row by row, and adds nothing twice."""
    first = exported(ledger)
    for kind in ListKind:
        (tmp_path / f"{kind.value}.csv").write_bytes(first[f"{kind.value}.csv"])
    outcome = bring(ledger, [tmp_path / f"{kind.value}.csv" for kind in ListKind])
    refused = {one.place.file for one in outcome.findings if one.severity.value == "fault"}
    assert refused == {"sites.csv", "people.csv", "blanks.csv", "keys.csv", "cylinders.csv"}
    assert exported(ledger) == first


def test_doors_and_cylinders_come_from_lists(ledger: Ledger, tmp_path: Path) -> None:
    """Buildings of doors, and cylinders that were pinned before, with spares and their places."""
    paths = files(
        tmp_path,
        doors="site,system,door,building\nAlder Quay,Quay system,Slipway,Boat hall\n"
        "Alder Quay,Quay system,Pier,Boat hall\n",
        cylinders="site,system,cylinder,pinned for,door,place\n"
        "Alder Quay,Quay system,spare 2,Slipway,,van\n"
        "Alder Quay,Quay system,spare 1,Slipway,,van\n"
        "Alder Quay,Quay system,spare 3,Slipway,,\n",
    )
    outcome = bring(ledger, paths)
    assert [(one.place.row, one.code) for one in outcome.findings] == [
        (3, "ledger-unknown"),
        (3, "ledger-known-already"),
        (4, "ledger-one-place"),
    ]
    good = files(
        tmp_path,
        doors="site,system,door,building\nAlder Quay,Quay system,Slipway,Boat hall\n",
        cylinders="site,system,cylinder,pinned for,door,place\n"
        "Alder Quay,Quay system,spare 2,Slipway,,van\n",
    )
    assert bring(ledger, good).done
    lists = ledger.ask(lists_out.tables)
    assert [kit.SITE, kit.SYSTEM, "Slipway", "Boat hall"] in lists[ListKind.DOORS]
    row = [kit.SITE, kit.SYSTEM, "spare 2", "Slipway", "", "van"]
    assert row in lists[ListKind.CYLINDERS]


def test_exports_repeat_and_texts_stay_texts(ledger: Ledger) -> None:
    """The same ledger gives the same bytes; a text that looks like a formula is a text in XLSX; the
    heads are those that can be read back; every event is one line of JSON.
    """
    kit.do(ledger, lambda tx: people.add_person(tx, "=1+1"))
    one, two = exported(ledger), exported(ledger)
    assert one == two
    assert set(one) == {f"{kind.value}.csv" for kind in ListKind} | {
        "lists.xlsx",
        "register.csv",
        "revisions.csv",
        "opens.csv",
        "events.jsonl",
        "sealed.jsonl",
        "strongbox.json",
    }
    for kind in ListKind:
        head = next(csv.reader(io.StringIO(one[f"{kind.value}.csv"].decode())))
        assert tuple(head) == COLUMNS[kind].all()
    book = load_workbook(io.BytesIO(one["lists.xlsx"]))
    cells = [cell for row in book["people"].iter_rows() for cell in row]
    assert [cell.data_type for cell in cells if cell.value == "=1+1"] == ["s", "s"]
    lines = one["events.jsonl"].decode().splitlines()
    assert len(lines) == ledger.ask(lambda view: view.head()).seq
    assert json.loads(lines[-1])["name"] == "=1+1"
    register = one["register.csv"].decode().splitlines()
    assert len(register) == 3
    assert "AA1-1" in register[1] + register[2]


def test_an_issue_of_a_list_keeps_its_register_fields(empty: Ledger, tmp_path: Path) -> None:
    """Date out, issuer and signatures of an old register are kept as they were."""
    keys = (
        "site,system,key,stamp,holder,out,issuer,issuer signature,receiver signature\n"
        "Alder Quay,Old,A,A-1,Sailmaker,2025-11-03,Old clerk,book 1,book 1\n"
    )
    assert bring(empty, files(tmp_path, sites=SITES, people=PEOPLE, keys=keys)).done
    from pinloom.ledger import register

    (line,) = empty.ask(lambda view: register.of_copy(view, copy_of(view, "A-1")))
    assert (line.issuer, line.issuer_signature) == ("Old clerk", "book 1")
    assert line.out_at == "2025-11-03T00:00:00.000000Z"
