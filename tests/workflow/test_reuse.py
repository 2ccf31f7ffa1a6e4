"""Growth by the books: cuts that rest are given to nobody, cuts that rested are free again."""

from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.chart import KeyStanding
from pinloom.core.job import Job
from pinloom.core.reuse import Whereabouts
from pinloom.growth.lost import LostPlans, Prices, lost
from pinloom.growth.room import room
from pinloom.ledger.database import where
from pinloom.ledger.store import Ledger
from pinloom.workflow import clock as real_clock
from pinloom.workflow import ledger as work
from pinloom.workflow import ledgeracts as acts
from pinloom.workflow import lost as lost_work
from pinloom.workflow.folder import load
from pinloom.workflow.grow import GrowOrder, GrowResult, grow_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.lost import LostOrder, lost_key
from pinloom.workflow.reuse import Books, read_reuse
from pinloom.workflow.room import room_left
from tests.ledger import kit
from tests.workflow.kit import MENDED_BITTINGS, codes, pinned, write

SMALLER = """\
door,maintenance,quality,cleaning
101,x,x,x
102,,,x
103,x,,x
104A,,,x
104B,,,x
105,,x,
106,,x,x
107,x,,
"""  # the published chart without its sales key; 102 goes to cleaning


TIDE_DOORS = """\
door,keys
101,maintenance quality cleaning tide
102,tide
103,maintenance cleaning
104A,cleaning tide
104B,cleaning tide
105,quality
106,quality cleaning tide
107,maintenance
"""


@pytest.fixture
def books(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Books:
    """A ledger with the published chart's job: two copies of sales, one out and back again."""
    shown = kit.Clock()
    monkeypatch.setattr(real_clock, "now", shown)
    monkeypatch.setattr(work, "now", shown)
    place = str(tmp_path / "l.db")
    kit.new_ledger(where(place), shown).close()
    pinned(tmp_path, MENDED_BITTINGS)
    with work.desk(place, "clerk") as at:
        assert at.value is not None
        do = at.value.do
        do(partial(acts.add_site, name="Alder Quay"))
        do(partial(acts.add_person, name="Rigger"))
        entry = work.Entry(folder=tmp_path / "job", site="Alder Quay")
        assert work.bring_job(at.value, entry, kit.PASSPHRASE).done
        office = "Alder Quay office"
        do(partial(acts.approve, system=office, number=1, by="Office", authority="order 7"))
        assert do(partial(acts.cut, system=office, key="sales", copies=2)).done
        assert do(partial(acts.issue, key="sales-1", person="Rigger")).done
    return Books(place=place, passphrase=kit.PASSPHRASE)


def _at_the_counter(books: Books, days: float, *actions: object) -> None:
    """Record actions, then let days pass."""
    shown = real_clock.now
    assert isinstance(shown, kit.Clock)
    ledger = Ledger.open(where(books.place), shown)
    for action in actions:
        kit.do(ledger, action)  # type: ignore[arg-type]
    ledger.close()
    shown.forward(days=days)


def _grow(folder: Path, books: Books | None, chart: str = SMALLER) -> GrowResult:
    paths = write(folder, wanted=chart)
    return grow_job(
        GrowOrder(
            folder=folder / "job",
            chart=ChartSource(path=paths["wanted"]),
            out=folder / "grown",
            books=books,
        )
    )


def _sales(folder: Path) -> Bitting:
    job = load(folder / "job").job
    assert job is not None
    return job.cuts()["sales"]


def _keys(job: Job | None) -> dict[str, KeyStanding]:
    assert job is not None
    assert job.proof.proved
    return {key.name: key.standing for key in job.chart.keys}


BACK = partial(acts.take_back, key="sales-1")


def test_a_copy_that_is_out_keeps_its_key_in_the_proof(books: Books, tmp_path: Path) -> None:
    """Ten years later it is still out: retired, and its cuts are held back."""
    _at_the_counter(books, 3650)
    result = _grow(tmp_path, books)
    assert _keys(result.job)["sales"] is KeyStanding.RETIRED
    job = load(tmp_path / "job").job
    assert job is not None
    assert _sales(tmp_path) in read_reuse(books, job).held


def test_a_key_is_kept_while_it_rests_and_released_after(books: Books, tmp_path: Path) -> None:
    """Both copies in the cabinet: a day before the rest is over it is kept, on the day released;
    doors that only lose the key keep their pins."""
    _at_the_counter(books, 364, BACK)
    assert _keys(_grow(tmp_path, books).job)["sales"] is KeyStanding.RETIRED
    _at_the_counter(books, 1)
    result = _grow(tmp_path, books)
    assert "sales" not in _keys(result.job)
    assert "growth-released" in codes(result.findings)
    told = [(one.name, one.what) for one in result.changes if one.what != "re-pin"]
    assert told == [("sales", "release")]
    shorter = Books(place=books.place, passphrase=books.passphrase, rest=0)
    assert "sales" not in _keys(_grow(tmp_path, shorter).job)


def test_without_a_ledger_nothing_is_released(books: Books, tmp_path: Path) -> None:
    """Whatever the books say, they are asked only when they are given."""
    _at_the_counter(books, 3650, BACK)
    assert _keys(_grow(tmp_path, None).job)["sales"] is KeyStanding.RETIRED


def _with_tide(folder: Path, books: Books, cuts: str) -> GrowResult:
    """Sales leaves; a new key tide of these cuts opens its doors."""
    paths = write(
        folder,
        doors=TIDE_DOORS,
        keys=f"key,under,cuts\nmaintenance,,\nquality,,\ncleaning,,\ntide,,{cuts}\n",
    )
    source = ChartSource(path=paths["doors"], keys=paths["keys"])
    order = GrowOrder(folder=folder / "job", chart=source, out=folder / "grown", books=books)
    return grow_job(order)


def test_cuts_that_rest_cannot_be_given_by_the_chart(books: Books, tmp_path: Path) -> None:
    """A chart that asks for the very cuts is refused while they rest, heeded when they are free."""
    _at_the_counter(books, 100, BACK)
    refused = _with_tide(tmp_path, books, "343621")
    assert refused.job is None
    assert "growth-given-held" in codes(refused.findings)
    assert not (tmp_path / "grown").exists()
    _at_the_counter(books, 300)
    result = _with_tide(tmp_path, books, "343621")
    assert _keys(result.job) == dict.fromkeys(
        ("cleaning", "maintenance", "quality", "tide"), KeyStanding.ACTIVE
    )
    assert result.job is not None
    assert result.job.cuts()["tide"] == _sales(tmp_path)


def test_held_cuts_are_given_to_no_new_key(books: Books, tmp_path: Path) -> None:
    """A key for the doors of the one that left gets its cuts, with no cylinder re-pinned; while a
    copy of it is out it gets others."""
    _at_the_counter(books, 400, BACK)
    free = _with_tide(tmp_path, books, "")
    assert "re-pin" not in {one.what for one in free.changes}
    assert _keys(free.job)["tide"] is KeyStanding.ACTIVE
    assert free.job is not None
    assert free.job.cuts()["tide"] == _sales(tmp_path)
    _at_the_counter(books, 4000, partial(acts.issue, key="sales-1", person="Rigger"))
    held = _with_tide(tmp_path, books, "")
    assert _keys(held.job)["sales"] is KeyStanding.RETIRED
    assert held.job is not None
    assert held.job.cuts()["tide"] != _sales(tmp_path)


def test_copies_of_one_combination_count_under_whatever_name(books: Books, tmp_path: Path) -> None:
    """Sales is told lost and gets new cuts; the old ones go on under a name of their own, while
    their copies are on record under the old one. Once all of these are destroyed and the rest is
    over, the old cuts are free; with one of them out they are not."""
    old = _sales(tmp_path)
    order = LostOrder(key="sales", folder=tmp_path / "job", prices=Prices(), out=tmp_path / "job")
    assert lost_key(order).saved is not None
    job = load(tmp_path / "job").job
    assert job is not None
    assert job.cuts()["sales"] != old
    assert old in job.bittings
    with work.desk(books.place, "clerk") as at:
        assert at.value is not None
        entry = work.Entry(folder=tmp_path / "job", site="Alder Quay")
        assert work.bring_job(at.value, entry, books.passphrase).done
    destroy = partial(acts.destroy, why="worn")
    _at_the_counter(books, 400, partial(destroy, key="sales-2"))
    assert old in read_reuse(books, job).held
    approve = partial(acts.approve, system="Alder Quay office", number=2, by="Office")
    _at_the_counter(books, 0, partial(approve, authority="order 8"))
    asked = read_reuse(replace(books, system="Alder Quay office"), replace(job, name="elsewhere"))
    (note,) = asked.findings
    assert (note.value("system"), note.value("never")) == ("Alder Quay office", "1")
    _at_the_counter(books, 364, partial(destroy, key="sales-1"))
    assert old in read_reuse(books, job).held
    _at_the_counter(books, 1)
    assert old in read_reuse(books, job).free


def test_a_lost_key_s_plans_go_by_the_books(
    books: Books, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The plans hear of every held combination, and the result names the copies and who has them.
    A retired key whose rest is over leaves the proof, as it does when a job grows."""
    _at_the_counter(books, 400, BACK)
    assert _grow(tmp_path, None).saved is not None  # sales is retired, in a folder of its own
    heard: list[tuple[Bitting, ...]] = []

    def listening(*given: object, avoid: tuple[Bitting, ...] = (), **more: object) -> LostPlans:
        heard.append(avoid)
        return lost(*given, avoid=avoid, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(lost_work, "lost", listening)
    asked = replace(books, system="Alder Quay office")
    order = LostOrder(
        key="quality",
        folder=tmp_path / "grown",
        prices=Prices(),
        out=tmp_path / "after",
        books=asked,
    )
    done = lost_key(order)
    assert done.saved is not None
    assert done.copies == ()  # none was ever cut
    assert "sales" not in _keys(done.saved.job)
    assert "sales,release," in (tmp_path / "after/changes.csv").read_text()
    job = load(tmp_path / "job").job
    assert job is not None
    told = lost_key(LostOrder(key="sales", folder=tmp_path / "job", prices=Prices(), books=books))
    assert told.copies is not None
    assert [(copy.stamp, copy.where, copy.holder) for copy in told.copies] == [
        ("sales-1", Whereabouts.CABINET, "Rigger"),
        ("sales-2", Whereabouts.CABINET, ""),
    ]
    assert [set(avoid) for avoid in heard] == [read_reuse(asked, job).held] * 2
    assert heard[0]
    wrong = lost_key(replace(order, books=replace(asked, passphrase="not the words")))
    assert wrong.answer is None
    assert "ledger-wrong-passphrase" in codes(wrong.findings)


def test_room_counts_by_the_books(tmp_path: Path, books: Books) -> None:
    """Cuts that are held are none of the next ones that room tells; nor is any other that is held
    back. The books are asked as for growth."""
    _at_the_counter(books, 0)
    result = _grow(tmp_path, None)  # sales is retired, in a folder of its own
    assert result.job is not None
    alone = replace(books, system="Alder Quay office", rest=0)
    held = read_reuse(alone, result.job).held
    told = room_left(tmp_path / "grown", ("cleaning",), 50, None, alone)
    (under,) = told.rooms
    assert under.following
    assert held.isdisjoint(under.following)
    first = under.following[0]
    again = room(result.job, "cleaning", 50, (*held, first))
    assert first not in again.following
    wrong = room_left(tmp_path / "grown", (), 5, None, replace(books, passphrase="not the words"))
    assert wrong.job is None
    assert "ledger-wrong-passphrase" in codes(wrong.findings)


def test_wrong_words_and_strange_systems_are_refused(books: Books, tmp_path: Path) -> None:
    """Nothing is grown on a wrong passphrase, an unknown system or a ledger that is not there."""
    for wrong, code in (
        (Books(place=books.place, passphrase="not the words"), "ledger-wrong-passphrase"),
        (Books(place=books.place, passphrase=kit.PASSPHRASE, system="none"), "ledger-unknown"),
        (Books(place=str(tmp_path / "no.db"), passphrase=kit.PASSPHRASE), "ledger-none-here"),
    ):
        result = _grow(tmp_path, wrong)
        assert result.job is None
        assert code in codes(result.findings)
    assert not (tmp_path / "grown").exists()
