"""The bench side: revisions, approval, orders, copies, blanks, cylinders and spare cores."""

from functools import partial

from pinloom.ledger import counter, cylinders, enter, people, queries, stock, workshop
from pinloom.ledger.events import EventKind
from pinloom.ledger.rows import BlankRow, CylinderRow, KeyRow, RevisionRow, SystemRow
from pinloom.ledger.store import Ledger, Outcome
from pinloom.ledger.verify import verify
from pinloom.ledger.view import table_of
from tests.ledger import kit
from tests.ledger.test_counter import copy_of, system

BLANK = "quay blank"


def enter_job(ledger: Ledger, **how: object) -> Outcome:
    """Bring in a revision of the boatyard's job."""
    key = kit.key_of(ledger)
    job = kit.job(**how)  # type: ignore[arg-type]
    return ledger.do(lambda tx: enter.enter(tx, key, job, kit.SITE, kit.SYSTEM), kit.CLERK)


def test_only_proved_and_approved_revisions_are_used(empty: Ledger) -> None:
    """Nothing is cut, pinned, ordered or issued from a revision before it is proved and approved;
    approval names a person and a written authority.
    """
    kit.do(empty, lambda tx: people.add_site(tx, kit.SITE))
    kit.do(empty, lambda tx: people.add_person(tx, "Rigger"))
    assert kit.codes(enter_job(empty, proved=False)) == ["ledger-not-proved"]
    unproved = kit.refused(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "Owner", "letter"))
    assert unproved == ["ledger-unproved"]
    assert enter_job(empty, revision=2).done
    early = ["ledger-not-approved"]
    assert kit.refused(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1")) == early
    assert kit.refused(empty, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Loft 1")) == early
    order = partial(workshop.order, system=kit.SYSTEM, key="AA1", person="Rigger", copies=1)
    assert kit.refused(empty, order) == early
    for by, authority in (("", "letter"), ("Owner", " ")):
        found = kit.refused(
            empty, partial(enter.approve, system=kit.SYSTEM, number=2, by=by, authority=authority)
        )
        assert found == ["ledger-no-authority"]
    done = kit.do(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Owner", "letter of 2 March"))
    assert done.events[0].kind is EventKind.APPROVED
    row = empty.ask(lambda view: view.get(RevisionRow, system(view).id, 2))
    assert row is not None
    assert (row.approved_by, row.authority) == ("Owner", "letter of 2 March")
    kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1"))
    again = kit.refused(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Owner", "letter"))
    assert again == ["ledger-approved-before"]
    assert empty.ask(verify).findings == []


def test_revisions_rise_and_come_in_once(ledger: Ledger) -> None:
    """The same revision is known, another of its number is refused, a missing site is named."""
    key = kit.key_of(ledger)
    same = kit.refused(
        ledger, lambda tx: enter.enter(tx, key, kit.blanked_job(), kit.SITE, kit.SYSTEM)
    )
    assert same == ["ledger-entered-before"]
    other = enter_job(ledger, revision=1, cuts=kit.CUTS | {"AA1": (4, 2, 8, 8, 7, 5)})
    assert kit.codes(other) == ["ledger-revision-not-newer"]
    nowhere = kit.refused(ledger, lambda tx: enter.enter(tx, key, kit.job(2), "Pier", kit.SYSTEM))
    assert nowhere == ["ledger-unknown"]


def test_combinations_count_changes_of_cuts(ledger: Ledger) -> None:
    """A recut key has a new combination, a key cut as before keeps its own, and cuts that come back
    have their first number again; doors likewise.
    """
    recut = kit.CUTS | {"AA1": (4, 2, 8, 8, 7, 5)}
    assert enter_job(ledger, revision=2, cuts=recut).done
    assert enter_job(ledger, revision=3).done

    def numbers(name: str) -> list[int]:
        keys = ledger.ask(lambda view: view.rows(KeyRow, table_of(KeyRow).c.name == name))
        return [key.combination for key in keys]

    assert numbers("AA1") == [1, 2, 1]
    assert numbers("AA2") == [1, 1, 1]


def test_a_name_that_shows_its_cuts_is_refused(ledger: Ledger) -> None:
    """A key named by its own cuts would lie open in the ledger."""
    stamped = kit.sixes().stamp(kit.CUTS["AA1"])
    cuts = dict(kit.CUTS)
    cuts[f"Loft {stamped[:3]}-{stamped[3:]}"] = cuts.pop("AA1")
    opens = {"Loft 1": [name for name in cuts if name.startswith("Loft")]}
    outcome = enter_job(ledger, revision=2, cuts=cuts, opens=opens)
    assert kit.codes(outcome) == ["ledger-name-shows-cuts"]
    assert stamped[:3] not in repr(outcome.findings)


def test_copies_keep_to_the_limit(empty: Ledger) -> None:
    """No more copies exist than the chart says; destroyed ones make room, lost ones do not."""
    kit.do(empty, lambda tx: people.add_site(tx, kit.SITE))
    enter_job(empty, copies={"AA1": 3})
    kit.do(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "Owner", "letter"))
    kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1", 2))
    two = kit.refused(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1", 2))
    assert two == ["ledger-over-limit"]
    kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1", 1))
    assert kit.refused(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1")) == [
        "ledger-over-limit"
    ]
    kit.do(empty, lambda tx: counter.destroy(tx, "AA1-2", "bent"))
    made = kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1"))
    assert empty.ask(lambda view: copy_of(view, "AA1-4")).id == made.events[0].seq
    kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA2", 40))


def test_a_lowered_limit_stops_issuing(empty: Ledger) -> None:
    """When a later revision allows fewer copies, those beyond it are not handed out."""
    kit.do(empty, lambda tx: people.add_site(tx, kit.SITE))
    kit.do(empty, lambda tx: people.add_person(tx, "Rigger"))
    enter_job(empty, copies={"AA1": 2})
    kit.do(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "Owner", "letter"))
    kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1", 2))
    enter_job(empty, revision=2, copies={"AA1": 1})
    kit.do(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Owner", "letter"))
    kit.do(empty, lambda tx: counter.issue(tx, "AA1-1", "Rigger"))
    over = kit.refused(empty, lambda tx: counter.issue(tx, "AA1-2", "Rigger"))
    assert over == ["ledger-over-limit"]


def test_restricted_blanks_need_a_signatory(ledger: Ledger, clock: kit.Clock) -> None:
    """An order on a restricted blank counts only from an authorised signatory of the site, today;
    and a restricted blank is cut on an order only.
    """
    kit.do(ledger, lambda tx: stock.keep_blank(tx, BLANK, restricted=True))
    no_order = kit.refused(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA2"))
    assert no_order == ["ledger-needs-order"]
    stranger = kit.refused(ledger, lambda tx: workshop.order(tx, kit.SYSTEM, "AA2", "Rigger", 1))
    assert stranger == ["ledger-may-not-order"]
    until = "2026-03-31"
    kit.do(ledger, lambda tx: people.add_signatory(tx, kit.SITE, "Rigger", "letter", until))
    order = kit.do(ledger, lambda tx: workshop.order(tx, kit.SYSTEM, "AA2", "Rigger", 2)).events[0]
    kit.do(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA2", 2, order_number=order.seq))
    more = kit.refused(
        ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA2", order_number=order.seq)
    )
    assert more == ["ledger-order-filled"]
    wrong = kit.refused(
        ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1", order_number=order.seq)
    )
    assert "ledger-unknown" in wrong
    clock.forward(days=30)
    past = kit.refused(ledger, lambda tx: workshop.order(tx, kit.SYSTEM, "AA2", "Rigger", 1))
    assert past == ["ledger-may-not-order"]
    office = "Harbour office"
    kit.do(ledger, lambda tx: people.end_signatory(tx, kit.SITE, office, "left"))
    ended = kit.refused(ledger, lambda tx: workshop.order(tx, kit.SYSTEM, "AA2", office, 1))
    assert ended == ["ledger-may-not-order"]
    twice = kit.refused(ledger, lambda tx: people.end_signatory(tx, kit.SITE, office, "left"))
    assert twice == ["ledger-no-signatory"]


def test_blanks_reconcile(ledger: Ledger) -> None:
    """Received less cut less spoiled is left; a count sets the books right and keeps the
    difference; what the books cannot give is remarked on.
    """

    def row() -> BlankRow:
        found = ledger.ask(lambda view: view.get(BlankRow, BLANK))
        assert found is not None
        return found

    assert (row().received, row().cut, row().left()) == (20, 10, 10)
    kit.do(ledger, lambda tx: stock.spoil(tx, BLANK, 2, "slipped"))
    assert row().left() == 8
    agrees = kit.do(ledger, lambda tx: stock.count(tx, BLANK, 8))
    assert kit.codes(agrees) == ["ledger-blanks-agree"]
    differs = kit.do(ledger, lambda tx: stock.count(tx, BLANK, 5))
    (found,) = differs.findings
    assert (found.code, found.value("difference")) == ("ledger-blanks-differ", "-3")
    assert (row().left(), row().adjusted) == (5, -3)
    short = kit.do(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA", 6))
    assert kit.codes(short) == ["ledger-blanks-short"]
    assert row().left() == -1
    assert kit.refused(ledger, lambda tx: stock.spoil(tx, BLANK, 1, "")) == ["ledger-no-reason"]
    assert kit.refused(ledger, lambda tx: stock.receive(tx, BLANK, 0)) == ["ledger-not-a-count"]
    assert kit.refused(ledger, lambda tx: stock.receive(tx, "no such", 1)) == ["ledger-unknown"]
    assert ledger.ask(verify).findings == []


def test_a_stamp_never_shows_cuts(ledger: Ledger) -> None:
    """Whatever reads as six depths of the format is no stamp; the refusal does not repeat it."""
    for stamp in ("3 4 5 6 2 1", "345621", "34-56-21", "3/4/5/6/2/1"):
        cut = partial(workshop.cut, system=kit.SYSTEM, key="AA", stamps=[stamp])
        outcome = ledger.do(cut, kit.CLERK)
        assert kit.codes(outcome) == ["ledger-stamp-shows-cuts"]
        assert stamp not in repr(outcome)


def test_stamps_are_unique_and_complete(ledger: Ledger) -> None:
    """One stamp a copy, none twice; without any they are symbol and number."""
    few = kit.refused(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA", 2, stamps=["Q1"]))
    assert few == ["ledger-stamps-missing"]
    twice = kit.refused(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA", 2, stamps=["Q", "Q"]))
    assert twice == ["ledger-stamp-taken"]
    taken = kit.refused(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA", stamps=["AA1-1"]))
    assert taken == ["ledger-stamp-taken"]
    kit.do(ledger, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA", 2, stamps=["Q1", "Q2"]))


def test_a_reason_never_shows_cuts(ledger: Ledger) -> None:
    """A reason that reads as six depths is refused, unless it is said to be meant as written."""
    shows = kit.refused(ledger, lambda tx: counter.lose(tx, "AA1-1", "it was cut 345621, gone"))
    assert shows == ["ledger-reason-shows-cuts"]
    spread = kit.refused(ledger, lambda tx: counter.lose(tx, "AA1-1", "cuts 3 4 5 6 2 1 I think"))
    assert spread == ["ledger-reason-shows-cuts"]
    outcome = ledger.do(
        lambda tx: counter.lose(tx, "AA1-1", "police file 345621"), kit.CLERK, as_written=True
    )
    assert outcome.done


def test_reserved_and_retired_keys(empty: Ledger) -> None:
    """A reserved key is cut with a remark, a retired one not at all."""
    kit.do(empty, lambda tx: people.add_site(tx, kit.SITE))
    job = kit.standing(kit.job(), {"AA1": "reserved", "AA2": "retired"})
    key = kit.key_of(empty)
    kit.do(empty, lambda tx: enter.enter(tx, key, job, kit.SITE, kit.SYSTEM))
    kit.do(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "Owner", "letter"))
    assert kit.codes(kit.do(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA1"))) == [
        "ledger-key-reserved"
    ]
    retired = kit.refused(empty, lambda tx: workshop.cut(tx, kit.SYSTEM, "AA2"))
    assert retired == ["ledger-key-retired"]


def test_pins_now_and_before(ledger: Ledger) -> None:
    """A cylinder is pinned, re-pinned, and its history keeps which revision it held when."""
    recut = kit.CUTS | {"AA1": (4, 2, 8, 8, 7, 5)}
    assert enter_job(ledger, revision=2, cuts=recut).done
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Owner", "letter"))
    event = kit.do(ledger, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Loft 1")).events[0]
    assert event.kind is EventKind.REPINNED
    row = ledger.ask(lambda view: view.get(CylinderRow, event.subject or 0))
    assert row is not None
    assert (row.door, row.revision, row.pinning) == ("Loft 1", 2, 2)
    history = ledger.ask(lambda view: queries.history(view, number=row.id))
    assert [e.kind.value for e in history] == ["pinned", "placed", "re-pinned"]
    assert ledger.ask(verify).findings == []


def test_spare_cores_and_where_they_are(ledger: Ledger) -> None:
    """A spare is listed with its place; it goes into a door only when the old one goes somewhere;
    at a door it was not pinned for it is remarked on.
    """

    def spares() -> list[tuple[str, str, str]]:
        rows = ledger.ask(lambda view: queries.spares(view, system(view)))
        return [(row.mark, row.pinned_for, row.place) for row in rows]

    assert spares() == [("spare 1", "Loft 1", "safe")]
    full = kit.refused(ledger, lambda tx: cylinders.place(tx, kit.SYSTEM, "spare 1", door="Loft 1"))
    assert full == ["ledger-door-taken"]
    kit.do(
        ledger,
        lambda tx: cylinders.place(tx, kit.SYSTEM, "spare 1", door="Loft 1", old_to="van"),
    )
    assert spares() == [("Loft 1", "Loft 1", "van")]
    odd = kit.do(
        ledger,
        lambda tx: cylinders.place(tx, kit.SYSTEM, "Loft 1", door="Slipway", old_to="safe"),
    )
    assert kit.codes(odd) == ["ledger-pinned-for-another"]
    both = kit.refused(
        ledger, lambda tx: cylinders.place(tx, kit.SYSTEM, "spare 1", door="Loft 1", at="van")
    )
    assert both == ["ledger-one-place"]
    kit.do(ledger, lambda tx: cylinders.place(tx, kit.SYSTEM, "spare 1", at="van"))
    assert ("spare 1", "Loft 1", "van") in spares()
    assert ledger.ask(verify).findings == []


def test_a_door_of_several_cylinders(empty: Ledger) -> None:
    """A door that counts three gets three marks, and is full then."""
    kit.do(empty, lambda tx: people.add_site(tx, kit.SITE))
    key = kit.key_of(empty)
    job = kit.counted(kit.job(), "Loft 1", 3)
    kit.do(empty, lambda tx: enter.enter(tx, key, job, kit.SITE, kit.SYSTEM))
    kit.do(empty, lambda tx: enter.approve(tx, kit.SYSTEM, 1, "Owner", "letter"))
    todo = empty.ask(lambda view: queries.to_do(view, system(view)))
    assert [door for door, _ in todo.cylinders].count("Loft 1") == 3
    kit.do(empty, lambda tx: cylinders.pin(tx, kit.SYSTEM, "loft 1"))
    marks = [row.mark for row in empty.ask(lambda view: view.rows(CylinderRow))]
    assert marks == ["Loft 1 (1/3)", "Loft 1 (2/3)", "Loft 1 (3/3)"]
    extra = kit.do(empty, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Loft 1", mark="extra"))
    assert kit.codes(extra) == ["ledger-door-is-full"]


def test_names_are_tidied_or_refused(ledger: Ledger) -> None:
    """Blanks and control signs are tidied; what would not be findable is refused."""
    kit.do(ledger, lambda tx: people.add_site(tx, "  North\tbasin\x00 "))
    found = ledger.ask(lambda view: queries.search(view, "north basin"))
    assert [one.label for one in found] == ["North basin"]
    for name in ("", "\x00", "#12", "a/b"):
        bad = kit.refused(ledger, partial(people.add_site, name=name))
        assert bad == ["ledger-name-unusable"]
    assert ledger.ask(lambda view: len(view.rows(SystemRow))) == 1
    again = kit.refused(ledger, lambda tx: people.add_building(tx, kit.SITE, "Sail loft"))
    assert again == ["ledger-known-already"]
