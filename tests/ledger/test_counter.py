"""Over the counter: what is handed out, taken back, refused, and what the register says of it.

Register fields: key number, date and time out, issuer's and receiver's name and signature, date and
time back; inventory twice a year; action at once when a key is lost (US Army subcourses MP1001 and
MM0170, seen).
"""

from dataclasses import fields
from functools import partial

import pytest

from pinloom.core.findings import Finding
from pinloom.ledger import (
    counter,
    cylinders,
    enter,
    inventory,
    lookup,
    people,
    queries,
    register,
    workshop,
)
from pinloom.ledger.details import Inventoried
from pinloom.ledger.events import EventKind
from pinloom.ledger.inventory import Seen, SeenKind
from pinloom.ledger.register import RegisterLine
from pinloom.ledger.rows import CopyRow, PersonRow, SystemRow
from pinloom.ledger.store import Ledger
from pinloom.ledger.verify import verify
from pinloom.ledger.view import Reading
from tests.ledger import kit

KEY, CYLINDER = SeenKind.KEY, SeenKind.CYLINDER


def copy_of(view: Reading, stamp: str) -> CopyRow:
    """The copy with a stamp."""
    found = lookup.copy(view, stamp)
    assert isinstance(found, CopyRow)
    return found


def person(view: Reading, name: str) -> PersonRow:
    """The person of a name."""
    found = lookup.person(view, name)
    assert isinstance(found, PersonRow)
    return found


def system(view: Reading) -> SystemRow:
    """The boatyard's system."""
    found = lookup.system(view, kit.SYSTEM)
    assert isinstance(found, SystemRow)
    return found


@pytest.mark.published
def test_the_register_has_its_fields(ledger: Ledger, clock: kit.Clock) -> None:
    """E-4: an issue and a return fill every field of the register, signatures included."""
    clock.forward(minutes=5)
    issued = kit.do(
        ledger,
        lambda tx: counter.issue(
            tx,
            "AA2-1",
            "Rigger",
            due="2026-03-10",
            issuer_signature="book 3, page 8",
            receiver_signature="book 3, page 8",
        ),
    )
    assert kit.codes(issued) == []
    clock.forward(days=2)
    kit.do(ledger, lambda tx: counter.take_back(tx, "AA2-1", signature="book 3, page 9"))
    lines = ledger.ask(lambda view: register.of_copy(view, copy_of(view, "AA2-1")))
    rigger = ledger.ask(lambda view: person(view, "Rigger"))
    assert lines == [
        RegisterLine(
            receipt=issued.events[0].receipt,
            system=kit.SYSTEM,
            key="AA2",
            key_number="AA2-1",
            out_at="2026-03-02T09:05:00.000000Z",
            issuer=kit.CLERK,
            issuer_signature="book 3, page 8",
            receiver=f"Rigger #{rigger.id}",
            receiver_signature="book 3, page 8",
            due="2026-03-10",
            back_at="2026-03-04T09:05:00.000000Z",
            received_by=kit.CLERK,
            back_signature="book 3, page 9",
            ended="returned",
        )
    ]
    wanted = {"key_number", "out_at", "issuer", "issuer_signature", "receiver"}
    wanted |= {"receiver_signature", "back_at"}
    assert wanted <= {field.name for field in fields(RegisterLine)}


def test_signatures_may_come_later(ledger: Ledger) -> None:
    """An issue without signatures says so; they are noted when the receipt has been signed."""
    outcome = kit.do(ledger, lambda tx: counter.issue(tx, "AA2-1", "Rigger"))
    assert kit.codes(outcome) == ["ledger-unsigned"]
    receipt = outcome.events[0].receipt
    kit.do(ledger, lambda tx: counter.sign(tx, receipt, "folder 2", "folder 2"))
    (line,) = ledger.ask(lambda view: register.of_copy(view, copy_of(view, "AA2-1")))
    assert (line.issuer_signature, line.receiver_signature) == ("folder 2", "folder 2")
    assert kit.refused(ledger, lambda tx: counter.sign(tx, receipt)) == ["ledger-no-signature"]
    other = f"{outcome.events[0].seq}-0000"
    assert kit.refused(ledger, lambda tx: counter.sign(tx, other, "x")) == ["ledger-unknown"]


def test_a_key_that_is_out_is_not_issued(ledger: Ledger) -> None:
    """It is with one person at a time; the refusal says with whom and since when."""
    outcome = ledger.do(lambda tx: counter.issue(tx, "AA1-1", "Rigger"), kit.CLERK)
    (found,) = outcome.findings
    assert found.code == "ledger-is-out"
    assert found.value("holder") == "Sailmaker"
    assert found.value("since") == "2026-03-02"
    assert outcome.events == ()


def test_a_lost_combination_is_not_handed_out(ledger: Ledger) -> None:
    """When one copy is lost, no other copy with those cuts is issued or cut; found copies come
    back, and the combination is handed out again only when somebody answers for it.
    """
    lost = kit.do(ledger, lambda tx: counter.lose(tx, "AA1-1", "left on the ferry"))
    assert [(one.code, one.value("doors")) for one in lost.findings] == [("ledger-lost-opens", "2")]
    issue = kit.refused(ledger, lambda tx: counter.issue(tx, "AA1-2", "Rigger"))
    assert issue == ["ledger-combination-lost"]
    cut = kit.refused(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1"))
    assert cut == ["ledger-combination-lost"]
    assert kit.refused(ledger, lambda tx: counter.lose(tx, "AA1-1", "again")) == [
        "ledger-not-at-hand"
    ]
    found = kit.do(ledger, lambda tx: counter.find(tx, "AA1-1", "the ferry's crew brought it"))
    assert kit.codes(found) == ["ledger-still-lost"]
    assert kit.refused(ledger, lambda tx: counter.issue(tx, "AA1-1", "Rigger")) == [
        "ledger-combination-lost"
    ]
    kit.do(ledger, lambda tx: counter.trust(tx, kit.SYSTEM, "AA1", "it lay in a locked drawer"))
    kit.do(ledger, lambda tx: counter.issue(tx, "AA1-1", "Rigger"))
    assert ledger.ask(verify).findings == []


def test_a_found_copy_may_be_trusted_at_once(ledger: Ledger) -> None:
    """Found and trusted makes good one loss, not two."""
    kit.do(ledger, lambda tx: counter.lose(tx, "AA1-1", "not in the box"))
    kit.do(ledger, lambda tx: counter.lose(tx, "AA1-2", "not in the box either"))
    one = kit.do(ledger, lambda tx: counter.find(tx, "AA1-1", "behind the box", trusted=True))
    assert kit.codes(one) == ["ledger-still-lost"]
    two = kit.do(ledger, lambda tx: counter.find(tx, "AA1-2", "there, too", trusted=True))
    assert kit.codes(two) == []
    kit.do(ledger, lambda tx: counter.issue(tx, "AA1-2", "Rigger"))


def test_what_needs_a_reason(ledger: Ledger) -> None:
    """Losses, finds, destruction, trust and corrections are not recorded without a reason."""
    code = "ledger-no-reason"
    receipt = ledger.ask(
        lambda view: next(e for e in view.events() if e.kind is EventKind.ISSUED).receipt
    )
    assert kit.refused(ledger, lambda tx: counter.lose(tx, "AA1-1", " ")) == [code]
    assert kit.refused(ledger, lambda tx: counter.destroy(tx, "AA1-1", "")) == [code]
    assert kit.refused(ledger, lambda tx: counter.trust(tx, kit.SYSTEM, "AA1", "")) == [code]
    assert kit.refused(ledger, lambda tx: counter.correct(tx, receipt, "void", "", "")) == [code]
    kit.do(ledger, lambda tx: counter.lose(tx, "AA1-1", "gone"))
    assert kit.refused(ledger, lambda tx: counter.find(tx, "AA1-1", "")) == [code]


def test_a_destroyed_key_is_gone(ledger: Ledger) -> None:
    """A destroyed copy is not issued, lost or destroyed again, and frees its place in the limit."""
    kit.do(ledger, lambda tx: counter.destroy(tx, "AA1-1", "bent", witness="Rigger"))
    for again in (
        lambda tx: counter.issue(tx, "AA1-1", "Rigger"),
        lambda tx: counter.destroy(tx, "AA1-1", "bent"),
        lambda tx: counter.lose(tx, "AA1-1", "gone"),
    ):
        assert kit.refused(ledger, again) == ["ledger-not-at-hand"]


def test_returns_must_have_been_issues(ledger: Ledger) -> None:
    """Only what is out comes back; a return while another copy is lost is remarked on."""
    assert kit.refused(ledger, lambda tx: counter.take_back(tx, "AA1-2")) == ["ledger-not-out"]
    kit.do(ledger, lambda tx: counter.lose(tx, "AA1-2", "gone"))
    back = kit.do(ledger, lambda tx: counter.take_back(tx, "AA1-1"))
    assert kit.codes(back) == ["ledger-back-but-lost"]


def test_overdue_keys_are_listed_and_recorded_once(ledger: Ledger, clock: kit.Clock) -> None:
    """The day after it was due a key is late; that is recorded once an issue."""
    clock.forward(days=7)
    assert ledger.ask(lambda view: queries.out(view, late_only=True)) == []
    assert kit.do(ledger, counter.note_overdue).events == ()
    clock.forward(days=1)
    (held,) = ledger.ask(lambda view: queries.out(view, late_only=True))
    assert (held.copy.stamp, held.holder.name if held.holder else "") == ("AA1-1", "Sailmaker")
    assert held.late
    first = kit.do(ledger, counter.note_overdue)
    assert [event.kind for event in first.events] == [EventKind.OVERDUE]
    assert kit.do(ledger, counter.note_overdue).events == ()
    kit.do(ledger, lambda tx: counter.take_back(tx, "AA1-1"))
    assert ledger.ask(lambda view: queries.out(view, late_only=True)) == []


def test_dates_must_be_dates_and_ahead(ledger: Ledger) -> None:
    """A due date that is none, or is past, is refused; all faults of the request at once."""
    for due, code in (
        ("2026-02-30", "ledger-bad-date"),
        ("tomorrow", "ledger-bad-date"),
        ("20260330", "ledger-bad-date"),
        ("2026-03-01", "ledger-due-past"),
    ):
        found = kit.refused(ledger, partial(counter.issue, key="AA2-1", person="Rigger", due=due))
        assert found == [code]
    both = kit.refused(ledger, lambda tx: counter.issue(tx, "ZZ-1", "Nobody", due="soon"))
    assert both == ["ledger-unknown", "ledger-unknown", "ledger-bad-date"]


def test_corrections_keep_what_was_said(ledger: Ledger) -> None:
    """A wrong due date, a wrong receiver and an issue that never was are set right by events; the
    first record stays.
    """
    kit.do(ledger, lambda tx: counter.issue(tx, "AA2-1", "Rigger", due="2026-03-10"))
    receipt = ledger.ask(lambda view: view.events()[-1]).receipt
    kit.do(ledger, lambda tx: counter.correct(tx, receipt, "due", "2026-04-10", "misheard"))
    assert ledger.ask(lambda view: copy_of(view, "AA2-1")).due == "2026-04-10"
    kit.do(ledger, lambda tx: counter.correct(tx, receipt, "receiver", "Sailmaker", "misheard"))
    (line,) = ledger.ask(lambda view: register.of_copy(view, copy_of(view, "AA2-1")))
    assert line.receiver.startswith("Sailmaker")
    assert line.due == "2026-04-10"
    sailmaker = ledger.ask(lambda view: person(view, "Sailmaker"))
    held = ledger.ask(lambda view: queries.holds(view, sailmaker))
    assert [one.copy.stamp for one in held] == ["AA1-1", "AA2-1"]
    of_rigger = ledger.ask(lambda view: register.of_person(view, person(view, "Rigger")))
    assert [one.key_number for one in of_rigger] == ["cleaner-1"]
    kit.do(ledger, lambda tx: counter.correct(tx, receipt, "void", "", "wrong key"))
    assert ledger.ask(lambda view: copy_of(view, "AA2-1")).state == "in"
    (line,) = ledger.ask(lambda view: register.of_copy(view, copy_of(view, "AA2-1")))
    assert line.void
    again = kit.refused(ledger, lambda tx: counter.correct(tx, receipt, "void", "", "twice"))
    assert again == ["ledger-issue-closed"]
    odd = kit.refused(ledger, lambda tx: counter.correct(tx, receipt, "colour", "", "x"))
    assert odd == ["ledger-no-such-field"]
    assert ledger.ask(verify).findings == []


def test_who_can_open_a_door_and_through_which_key(ledger: Ledger) -> None:
    """Every copy that opens the door is listed with its key and where it is, lost ones included;
    destroyed ones are not.
    """
    kit.do(ledger, lambda tx: counter.lose(tx, "TOP-1", "gone"))
    kit.do(ledger, lambda tx: counter.destroy(tx, "TOP-2", "bent"))
    found = ledger.ask(lambda view: queries.who_can_open(view, system(view), "Slipway"))
    assert not isinstance(found, Finding)
    assert {(one.copy.stamp, one.holder.name if one.holder else "") for one in found} == {
        ("TOP-1", ""),
        ("cleaner-1", "Rigger"),
        ("cleaner-2", ""),
    }
    assert {one.copy.name for one in found} == {"TOP", "cleaner"}
    assert not any(one.assumed for one in found)
    unknown = ledger.ask(lambda view: queries.who_can_open(view, system(view), "Pier"))
    assert isinstance(unknown, Finding)


def test_what_a_person_can_open(ledger: Ledger) -> None:
    """The doors behind every key a person has, by the pins that are in them now."""
    found = ledger.ask(lambda view: queries.what_opens(view, person(view, "Sailmaker")))
    assert {(one.copy.stamp, one.door) for one in found} == {
        ("AA1-1", "Loft 1"),
        ("AA1-1", "Loft stair"),
    }
    assert ledger.ask(lambda view: queries.what_opens(view, person(view, "Harbour office"))) == []


def test_openers_follow_the_pins_not_the_plan(ledger: Ledger) -> None:
    """A new revision with recut keys opens a door only after the door is re-pinned, and old copies
    open it only before.
    """
    key = kit.key_of(ledger)
    recut = kit.CUTS | {"AA1": (4, 2, 8, 8, 7, 5)}
    kit.do(ledger, lambda tx: enter.enter(tx, key, kit.job(2, recut), kit.SITE, kit.SYSTEM))
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Harbour office", "order 9"))
    kit.do(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1"))

    def stamps() -> set[str]:
        found = ledger.ask(lambda view: queries.who_can_open(view, system(view), "Loft 1"))
        assert not isinstance(found, Finding)
        return {one.copy.stamp for one in found if one.copy.name == "AA1"}

    assert stamps() == {"AA1-1", "AA1-2"}
    todo = ledger.ask(lambda view: queries.to_do(view, system(view)))
    assert [door for door, _ in todo.cylinders] == ["Loft 1", "Loft stair"]
    assert [copy.stamp for copy in todo.copies] == ["AA1-1", "AA1-2"]
    kit.do(ledger, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Loft 1"))
    assert stamps() == {"AA1-3"}
    old = kit.refused(ledger, lambda tx: counter.issue(tx, "AA1-2", "Rigger"))
    assert old == ["ledger-old-cuts"]
    assert ledger.ask(verify).findings == []


def test_search_finds_names_from_their_beginning_first(ledger: Ledger) -> None:
    """One box for everything: people, keys, copies, doors; case does not matter; signs that mean
    something to a database are signs.
    """
    found = ledger.ask(lambda view: queries.search(view, "LOFT"))
    labels = [one.label for one in found]
    assert labels[0].startswith("Loft 1")
    assert {one.kind for one in found} == {"door", "cylinder"}
    assert ledger.ask(lambda view: queries.search(view, "100%")) == []
    assert ledger.ask(lambda view: queries.search(view, "_")) == []
    (only,) = ledger.ask(lambda view: queries.search(view, "sailmak"))
    assert (only.kind, only.label) == ("person", "Sailmaker Alder Quay yard")
    assert len(ledger.ask(lambda view: queries.search(view, "a", limit=3))) == 3


def test_history_tells_what_happened_to_a_thing(ledger: Ledger) -> None:
    """By number for a key, a person or a cylinder, by name for a door or a key symbol."""
    copy = ledger.ask(lambda view: copy_of(view, "AA1-1"))
    kinds = [e.kind.value for e in ledger.ask(lambda view: queries.history(view, number=copy.id))]
    assert kinds == ["cut", "issued"]
    rigger = ledger.ask(lambda view: person(view, "Rigger"))
    kinds = [e.kind.value for e in ledger.ask(lambda v: queries.history(v, number=rigger.id))]
    assert kinds == ["person", "issued"]
    door = ledger.ask(lambda v: queries.history(v, system=system(v).id, name="Slipway"))
    assert [e.kind.value for e in door] == ["door placed", "pinned", "placed"]
    assert len(ledger.ask(lambda view: queries.history(view, last=3))) == 3


def test_inventory_lists_every_difference(ledger: Ledger) -> None:
    """A count finds what is missing, elsewhere, not shown, unknown, seen twice, or should not be
    there; the books are not changed by it.
    """
    kit.do(ledger, lambda tx: counter.lose(tx, "TOP-2", "gone"))
    seen = [
        Seen(what=KEY, mark="TOP-1"),
        Seen(what=KEY, mark="TOP-2"),  # lost by the books
        Seen(what=KEY, mark="AA-1"),
        Seen(what=KEY, mark="AA-1"),  # twice
        Seen(what=KEY, mark="AA-2", where="Rigger"),  # the books: in the cabinet
        Seen(what=KEY, mark="AA1-2"),
        Seen(what=KEY, mark="AA2-1"),
        Seen(what=KEY, mark="AA2-2", where="Cabinet"),
        Seen(what=KEY, mark="ZZ-9"),  # unknown
        Seen(what=KEY, mark="cleaner-1", where="rigger"),
        Seen(what=CYLINDER, mark="Loft 1", where="Loft 1"),
        Seen(what=CYLINDER, mark="Loft 2", where="Loft 2"),
        Seen(what=CYLINDER, mark="Loft stair", where="Loft stair"),
        Seen(what=CYLINDER, mark="Slipway", where="Slipway"),
        Seen(what=CYLINDER, mark="spare 1", where="workbench"),
    ]
    before = ledger.ask(lambda view: view.rows(CopyRow))
    outcome = kit.do(ledger, lambda tx: inventory.take(tx, kit.SYSTEM, seen))
    assert kit.codes(outcome) == ["ledger-inventory-differs"]
    details = outcome.events[0].details
    assert isinstance(details, Inventoried)
    assert [(one.what, one.mark) for one in details.differences] == [
        ("elsewhere", "key AA-2"),
        ("missing", "key cleaner-2"),
        ("not shown", "key AA1-1"),
        ("should not be", "key TOP-2"),
        ("twice", "key AA-1"),
        ("unknown", "key ZZ-9"),
        ("elsewhere", "cylinder spare 1"),
    ]
    assert (details.keys, details.cylinders) == (10, 5)
    assert ledger.ask(lambda view: view.rows(CopyRow)) == before


@pytest.mark.published
def test_inventory_is_due_twice_a_year(ledger: Ledger, clock: kit.Clock) -> None:
    """E-4: keys and locks are counted twice a year; a system not counted for half a year is due."""
    due = ledger.ask(inventory.due)
    assert [(one.system.name, one.last) for one in due] == [(kit.SYSTEM, "")]
    kit.do(ledger, lambda tx: inventory.take(tx, kit.SYSTEM, []))
    assert ledger.ask(inventory.due) == []
    clock.forward(days=184)
    assert [one.last for one in ledger.ask(inventory.due)] == ["2026-03-02"]


def test_people_of_one_name_are_told_apart(ledger: Ledger) -> None:
    """A second person of a name is added only when said so, and then meant by number."""
    twice = kit.refused(ledger, lambda tx: people.add_person(tx, "Rigger"))
    assert twice == ["ledger-namesake"]
    added = kit.do(ledger, lambda tx: people.add_person(tx, "Rigger", namesake=True))
    assert kit.codes(added) == ["ledger-new-person"]
    number = added.events[0].seq
    unclear = kit.refused(ledger, lambda tx: counter.issue(tx, "AA2-1", "Rigger"))
    assert unclear == ["ledger-ambiguous"]
    kit.do(ledger, lambda tx: counter.issue(tx, "AA2-1", f"#{number}"))
    assert ledger.ask(lambda view: copy_of(view, "AA2-1")).holder == number


def test_what_is_kept_of_a_person_can_be_corrected(ledger: Ledger) -> None:
    """A new name is found by search, and the old one stands in the chain."""
    kit.do(ledger, lambda tx: people.change_person(tx, "Rigger", "name", "Head rigger", "promoted"))
    assert ledger.ask(lambda view: person(view, "head rigger")).name == "Head rigger"
    assert [one.label for one in ledger.ask(lambda v: queries.search(v, "head r"))] == [
        "Head rigger Alder Quay yard"
    ]
    wrong = kit.refused(ledger, lambda tx: people.change_person(tx, "Head rigger", "age", "9", "x"))
    assert wrong == ["ledger-no-such-field"]
    assert ledger.ask(verify).findings == []


def test_namesake_systems_are_told_apart_by_site(ledger: Ledger) -> None:
    """SITE/SYSTEM means one of two systems of a name, SYSTEM/STAMP one of two stamps."""
    key = kit.key_of(ledger)
    kit.do(ledger, lambda tx: people.add_site(tx, "North basin"))
    kit.do(ledger, lambda tx: enter.enter(tx, key, kit.job(), "North basin", kit.SYSTEM))
    unclear = kit.refused(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "x", "y"))
    assert unclear == ["ledger-ambiguous"]
    full = f"North basin/{kit.SYSTEM}"
    kit.do(ledger, lambda tx: enter.approve(tx, full, 1, "Harbour office", "order 8"))
    kit.do(ledger, lambda tx: workshop.cut(tx, full, "AA1"))
    assert kit.refused(ledger, lambda tx: counter.issue(tx, "AA1-1", "Rigger")) == [
        "ledger-ambiguous"
    ]
    kit.do(ledger, lambda tx: counter.issue(tx, f"{full}/AA1-1", "Rigger"))
