"""Combinations that may be offered again, and doors known to be clean, from the ledger's events."""

from datetime import UTC, date, datetime, timedelta, timezone
from functools import partial

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pinloom.core.reuse import Offer, Whereabouts
from pinloom.ledger import counter, cylinders, enter, inventory, lookup, workshop
from pinloom.ledger.inventory import Seen, SeenKind
from pinloom.ledger.resting import Combination, combinations
from pinloom.ledger.rows import CopyState, SystemRow
from pinloom.ledger.store import Ledger
from pinloom.ledger.view import Reading, unstamp
from tests.ledger import kit

REST = 365


def _utc_day(stamp: str) -> date:
    return unstamp(stamp).astimezone(UTC).date()


def _all(ledger: Ledger, rest: int = REST) -> dict[tuple[str, int], Combination]:
    def question(view: Reading) -> list[Combination]:
        owner = lookup.system(view, kit.SYSTEM)
        assert isinstance(owner, SystemRow)
        return combinations(view, owner, rest, _utc_day)

    return {(one.key, one.combination): one for one in ledger.ask(question)}


def _without(ledger: Ledger, name: str, revision: int = 2) -> None:
    """The next revision retires a key, and every door is pinned to it."""
    opens = {door: [key for key in keys if key != name] for door, keys in kit.OPENS.items()}
    made = kit.standing(kit.job(revision, opens=opens), {name: "retired"})
    key = kit.key_of(ledger)
    kit.do(ledger, lambda tx: enter.enter(tx, key, made, kit.SITE, kit.SYSTEM))
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, revision, "Office", "order 8"))


def test_a_copy_that_is_out_is_named_with_its_holder(ledger: Ledger) -> None:
    """One copy of cleaner is with the Rigger: never, and its doors are not known to be clean."""
    found = _all(ledger)["cleaner", 1]
    assert found.standing.offer is Offer.NEVER
    (gone,) = found.standing.missing
    assert (gone.stamp, gone.where, gone.holder) == ("cleaner-1", Whereabouts.OUT, "Rigger")
    assert found.doors == ("Loft stair", "Slipway")
    assert not found.clean
    assert found.in_use


def test_a_returned_combination_rests_and_is_free(ledger: Ledger, clock: kit.Clock) -> None:
    """Back on 3 March 2026: free from 3 March 2027, not a day before."""
    clock.forward(days=1)
    kit.do(ledger, lambda tx: counter.take_back(tx, "cleaner-1"))
    found = _all(ledger)["cleaner", 1]
    assert (found.standing.offer, found.standing.free_from) == (Offer.RESTING, date(2027, 3, 3))
    assert found.clean
    clock.forward(days=REST - 1)
    assert _all(ledger)["cleaner", 1].standing.offer is Offer.RESTING
    clock.forward(days=1)
    assert _all(ledger)["cleaner", 1].standing.offer is Offer.FREE


def test_the_day_is_the_shop_s(ledger: Ledger, clock: kit.Clock) -> None:
    """Returned at half past eleven in the evening of 2 March by a shop two hours west of UTC: the
    event is dated 3 March UTC, and the rest counts from the shop's own day."""
    west = timezone(timedelta(hours=-2))
    clock.now = datetime(2026, 3, 2, 23, 30, tzinfo=west)
    kit.do(ledger, lambda tx: counter.take_back(tx, "cleaner-1"))

    def day(stamp: str) -> date:
        return unstamp(stamp).astimezone(west).date()

    def question(view: Reading) -> date | None:
        owner = lookup.system(view, kit.SYSTEM)
        assert isinstance(owner, SystemRow)
        found = combinations(view, owner, 1, day)
        return next(one for one in found if one.key == "cleaner").standing.free_from

    assert ledger.ask(question) == date(2026, 3, 3)
    assert _all(ledger, 1)["cleaner", 1].standing.free_from == date(2026, 3, 4)


def test_lost_from_the_cabinet_names_who_had_it_last(ledger: Ledger, clock: kit.Clock) -> None:
    """A copy lost after its return: the last holder is still told; trust does not bring it back."""
    kit.do(ledger, lambda tx: counter.take_back(tx, "cleaner-1"))
    kit.do(ledger, lambda tx: counter.lose(tx, "cleaner-1", "not in the cabinet"))
    kit.do(ledger, lambda tx: counter.trust(tx, kit.SYSTEM, "cleaner", "door is supervised"))
    clock.forward(days=5000)
    found = _all(ledger)["cleaner", 1].standing
    assert found.offer is Offer.NEVER
    assert [(c.stamp, c.where, c.holder) for c in found.missing] == [
        ("cleaner-1", Whereabouts.LOST, "Rigger")
    ]


def test_found_and_not_trusted_is_never_offered(ledger: Ledger, clock: kit.Clock) -> None:
    """Every copy is at hand, and nobody answers for the time it was away."""
    kit.do(ledger, lambda tx: counter.lose(tx, "cleaner-1", "left on a quay"))
    kit.do(ledger, lambda tx: counter.find(tx, "cleaner-1", "a neighbour brought it"))
    clock.forward(days=5000)
    found = _all(ledger)["cleaner", 1].standing
    assert (found.offer, found.missing, found.distrusted) == (Offer.NEVER, (), True)
    kit.do(ledger, lambda tx: counter.trust(tx, kit.SYSTEM, "cleaner", "it was in his safe"))
    assert _all(ledger)["cleaner", 1].standing.offer is Offer.FREE


def test_a_destroyed_key_s_doors_are_clean_when_every_copy_is_accounted_for(
    ledger: Ledger,
) -> None:
    """One of two copies destroyed while the other is out: not clean; both destroyed: clean."""
    kit.do(ledger, lambda tx: counter.destroy(tx, "cleaner-2", "bent"))
    assert not _all(ledger)["cleaner", 1].clean
    kit.do(ledger, lambda tx: counter.destroy(tx, "cleaner-1", "worn"))
    found = _all(ledger)["cleaner", 1]
    assert found.clean
    assert found.standing.offer is Offer.RESTING
    assert found.doors == ("Loft stair", "Slipway")


def test_doors_pinned_to_another_revision_are_clean(ledger: Ledger) -> None:
    """cleaner is retired while a copy is out: its doors are not clean until each cylinder is pinned
    to the revision that shuts it out."""
    _without(ledger, "cleaner")
    assert _all(ledger)["cleaner", 1].doors == ("Loft stair", "Slipway")
    kit.do(ledger, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Slipway"))
    assert _all(ledger)["cleaner", 1].doors == ("Loft stair",)
    kit.do(ledger, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Loft stair"))
    found = _all(ledger)["cleaner", 1]
    assert found.doors == ()
    assert found.clean
    assert found.standing.offer is Offer.NEVER
    assert not found.in_use


def test_a_door_with_a_cylinder_too_few_may_hold_any_revision(ledger: Ledger) -> None:
    """Slipway has two cylinders and one is on record: the other may turn to the retired key."""
    opens = {door: [key for key in keys if key != "cleaner"] for door, keys in kit.OPENS.items()}
    made = kit.standing(kit.job(2, opens=opens), {"cleaner": "retired"})
    made = kit.counted(made, "Slipway", 2)
    key = kit.key_of(ledger)
    kit.do(ledger, lambda tx: enter.enter(tx, key, made, kit.SITE, kit.SYSTEM))
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Office", "order 8"))
    kit.do(ledger, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Loft stair"))
    kit.do(ledger, lambda tx: cylinders.pin(tx, kit.SYSTEM, "Slipway", mark="Slipway"))
    assert _all(ledger)["cleaner", 1].doors == ("Slipway",)


def test_a_number_missing_among_the_copies_is_a_copy(ledger: Ledger) -> None:
    """Copies 1, 2 and 4 are on record: copy 3 exists somewhere, of whichever cuts."""
    key = kit.key_of(ledger)
    cuts = kit.CUTS | {"AA2": (4, 2, 6, 4, 7, 9)}
    kit.do(ledger, lambda tx: enter.enter(tx, key, kit.job(2, cuts), kit.SITE, kit.SYSTEM))
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Office", "order 8"))

    def registered(tx: object, number: int) -> list[object]:
        from pinloom.ledger import details as d
        from pinloom.ledger.events import EventKind
        from pinloom.ledger.view import Writing

        assert isinstance(tx, Writing)
        owner = lookup.system(tx, kit.SYSTEM)
        assert isinstance(owner, SystemRow)
        details = d.Cut(number=number, stamp=f"old AA2-{number}", combination=2)
        tx.append(EventKind.REGISTERED, details, system=owner.id, subject=0, name="AA2")
        return []

    kit.do(ledger, partial(registered, number=4))  # type: ignore[arg-type]
    for number in (1, 2):
        found = _all(ledger)["AA2", number].standing
        assert found.offer is Offer.NEVER
        assert [c.stamp for c in found.missing] == ["copy 3"]


def test_a_count_that_misses_a_copy_is_heeded_until_settled(ledger: Ledger) -> None:
    """AA2-1 should hang in the cabinet and was not seen: not accounted for until something is
    recorded of it, or a later count sees it."""
    count = partial(inventory.take, system=kit.SYSTEM)
    seen = [Seen(what=SeenKind.KEY, mark="AA2-2")]
    kit.do(ledger, partial(count, seen=seen))
    found = _all(ledger)["AA2", 1].standing
    assert [(c.stamp, c.where) for c in found.missing] == [("AA2-1", Whereabouts.DISPUTED)]
    both = [*seen, Seen(what=SeenKind.KEY, mark="AA2-1")]
    kit.do(ledger, partial(count, seen=both))
    assert _all(ledger)["AA2", 1].standing.offer is Offer.FREE
    kit.do(ledger, partial(count, seen=seen))
    kit.do(ledger, lambda tx: counter.issue(tx, "AA2-1", "Rigger"))
    kit.do(ledger, lambda tx: counter.take_back(tx, "AA2-1"))
    assert _all(ledger)["AA2", 1].standing.offer is Offer.RESTING


def test_old_cuts_stand_by_themselves(ledger: Ledger) -> None:
    """AA1 gets new cuts while a copy of the old ones is out: combination 1 is held, 2 is in use."""
    key = kit.key_of(ledger)
    made = kit.job(2, kit.CUTS | {"AA1": (4, 2, 8, 8, 5, 9)})
    kit.do(ledger, lambda tx: enter.enter(tx, key, made, kit.SITE, kit.SYSTEM))
    kit.do(ledger, lambda tx: enter.approve(tx, kit.SYSTEM, 2, "Office", "order 8"))
    found = _all(ledger)
    assert not found["AA1", 1].in_use
    assert [c.holder for c in found["AA1", 1].standing.missing] == ["Sailmaker"]
    assert found["AA1", 2].in_use
    assert found["AA1", 2].standing.offer is Offer.NEVER  # no copy of it is on record


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["issue", "back", "lose", "find", "destroy", "cut", "wait"]),
        st.integers(1, 3),
    ),
    max_size=12,
)


@given(steps=STEPS, rest=st.sampled_from([0, 7, 365]))
@settings(
    max_examples=12,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_a_combination_with_a_copy_out_is_never_offered(
    model_file: bytes,
    tmp_path_factory: pytest.TempPathFactory,
    steps: list[tuple[str, int]],
    rest: int,
) -> None:
    """Whatever happens over the counter, and however many days pass: what is offered has every copy
    in the cabinet or destroyed, and none came back within the rest."""
    from pinloom.ledger.database import Where
    from pinloom.ledger.rows import CopyRow
    from pinloom.ledger.view import table_of

    target = tmp_path_factory.mktemp("steps") / "boatyard.db"
    target.write_bytes(model_file)
    clock = kit.Clock()
    ledger = Ledger.open(Where(path=target), clock)
    back: dict[str, date] = {}
    for what, number in steps:
        stamp = f"AA2-{number}"
        action = {
            "issue": partial(counter.issue, key=stamp, person="Rigger"),
            "back": partial(counter.take_back, key=stamp),
            "lose": partial(counter.lose, key=stamp, why="gone"),
            "find": partial(counter.find, key=stamp, why="there", trusted=True),
            "destroy": partial(counter.destroy, key=stamp, why="worn"),
            "cut": partial(workshop.cut, system=kit.SYSTEM, key="AA2", copies=1),
        }.get(what)
        if action is None:
            clock.forward(days=number * 100)
        elif ledger.do(action, kit.CLERK).done and what in ("back", "find", "destroy"):
            back[stamp] = clock.now.date()
    found = _all(ledger, rest)["AA2", 1].standing
    rows = ledger.ask(lambda view: view.rows(CopyRow, table_of(CopyRow).c.name == "AA2"))
    ledger.close()
    held = [row for row in rows if row.state in (CopyState.OUT.value, CopyState.LOST.value)]
    assert (found.offer is Offer.NEVER) == bool(held)
    assert {one.stamp for one in found.missing} == {row.stamp for row in held}
    if found.offer is Offer.FREE and back:
        assert max(back.values()) + timedelta(days=rest) <= clock.now.date()
