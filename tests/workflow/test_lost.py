"""A lost key as a use case: counts, the doors that matter now, spares, and work orders."""

import io
import re
from pathlib import Path

import openpyxl
import pypdf
import pytest

from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.folder import load
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.lost import LostOrder, LostResult, Prices, lost_key
from pinloom.workflow.lostorders import OrderAsked, Paper, write_orders
from tests.workflow.kit import write

# Two groups of a boatyard; one row stands for three padlocks, one opening has two cylinders.
DOORS = "door,keys,opening,count\n" + "".join(
    f"Loft {g}{n},A{g}{n},{'Loft BA' if g == 'B' and n < 3 else ''},{3 if n == 3 else 1}\n"
    for g in "AB"
    for n in (1, 2, 3)
)
KEYS = "key,under,copies\nTOP,,1\nAA,TOP,2\nAB,TOP,2\n" + "".join(
    f"A{g}{n},A{g},2\n" for g in "AB" for n in (1, 2, 3)
)


def _folder(tmp_path: Path, hardware: str) -> Path:
    paths = write(tmp_path, doors=DOORS, keys=KEYS)
    made = design_job(
        DesignOrder(
            chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
            hardware=hardware,
            out=tmp_path / "job",
            budget=200,
        )
    )
    assert made.job is not None
    assert made.job.proof.proved
    return tmp_path / "job"


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A designed job of two groups of three lofts."""
    return _folder(tmp_path_factory.mktemp("yard"), "us-6x10-015")


def _lost(folder: Path, key: str, **more: object) -> LostResult:
    given: dict[str, object] = {"prices": Prices(), **more}
    return lost_key(LostOrder(key=key, folder=folder, **given))  # type: ignore[arg-type]


def test_doors_openings_and_cylinders_are_counted_apart(yard: Path) -> None:
    """Three rows of the chart, two openings, five cylinders; the minutes are those of cylinders."""
    result = _lost(yard, "AB")
    assert result.answer is not None
    tally = result.answer.exposure.tally
    assert (tally.doors, tally.openings, tally.cylinders) == (3, 2, 5)
    best = result.plans[0].plan
    assert best.bill.cylinders == best.tally.cylinders == 5
    assert best.bill.doors == 5 * Prices().cylinder
    assert best.bill.pieces == 2 * len(best.recut)


def test_the_shops_own_figures_make_the_bill(yard: Path) -> None:
    """Every figure counts: minutes per cylinder, per key cut, per key handed out, and per trip."""
    prices = Prices(cylinder=7, key=2, issue=4, trip=11, per_trip=3)
    plan = _lost(yard, "AB", prices=prices).plans[0].plan
    assert plan.bill.doors == 7 * plan.tally.cylinders
    assert plan.bill.keys == 6 * plan.bill.pieces
    assert plan.bill.ways == 11 * len(plan.stages)
    assert plan.minutes == plan.bill.doors + plan.bill.keys + plan.bill.ways
    assert plan.minutes >= plan.bound.minutes
    assert plan.swap is None


def test_the_whole_group_is_cut_anew_where_less_would_do(yard: Path) -> None:
    """For a lost change key one door is enough; the whole group is a plan beside it, with every key
    of the group cut anew, and dearer.
    """
    plans = {one.plan.name: one for one in _lost(yard, "AB1").plans}
    group = plans["the whole group"]
    assert set(group.plan.recut) >= {"AB", "AB1", "AB2", "AB3"}
    assert group.proved
    assert group.plan.minutes > next(iter(plans.values())).plan.minutes
    whole = {"AB", "AB1", "AB2", "AB3"}
    assert any(whole <= set(one.plan.recut) and one.proved for one in _lost(yard, "AB").plans)


def test_the_doors_that_matter_now_are_a_beginning_and_never_done(yard: Path) -> None:
    """Only the named door is done; the other two stay exposed and are named, with trips left."""
    result = _lost(yard, "AB", first=("Loft B3",))
    begun = result.urgent
    assert begun is not None
    assert begun.doors == ("Loft B3",)
    assert begun.tally.cylinders == 3
    assert begun.exposed == ("Loft B1", "Loft B2")
    assert begun.trips >= 1
    assert begun.proved
    assert begun.minutes < result.plans[begun.plan - 1].plan.minutes
    assert _lost(yard, "AB").urgent is None


def test_cores_are_priced_at_the_door_and_as_spares(tmp_path: Path) -> None:
    """A core is swapped in minutes, its spare pinned at the bench before; two spares at hand make a
    trip of two, and the state after each such trip is proved too.
    """
    folder = _folder(tmp_path, "ic-7x10-0125")
    prices = Prices(core=2, bench=9, spares=2, cylinder=20)
    one = _lost(folder, "AA", prices=prices).plans[0]
    swap = one.plan.swap
    assert swap is not None
    assert swap.doors == 2 * swap.cylinders
    assert swap.bench == 9 * swap.cylinders
    assert swap.trips == len(one.plan.swap_stages) == len(one.swap_states)
    assert swap.trips > len(one.plan.stages)
    assert one.proved


def test_work_orders_say_who_does_what_and_repeat_to_the_byte(yard: Path, tmp_path: Path) -> None:
    """The owner's order has the doors, the keys to sign for and the trial, and no cut; the bench's
    has the cuts of every new key and both pinnings; both are the same again.
    """
    order = {"orders": tmp_path / "one", "approved_by": "the owner, order 7"}
    result = _lost(yard, "AB", first=("Loft B3",), **order)
    assert result.written == ("order-owner.pdf", "order-bench.pdf", "order-bench.xlsx")
    again = _lost(yard, "AB", first=("Loft B3",), **order | {"orders": tmp_path / "two"})
    for name in again.written:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    one = result.plans[0]
    owner, bench = (_text(tmp_path / "one" / name) for name in result.written[:2])
    made = one.job.key_format
    for key in one.plan.recut:
        cuts = made.stamp(one.job.cuts()[key])
        assert key in owner
        assert cuts not in re.sub(r"\s", "", owner)
        assert cuts in re.sub(r"\s", "", bench)
    assert made.stamp(load(yard).job.cuts()["AB"]) in bench  # type: ignore[union-attr]
    for word in ("NOT DONE", "TRIAL", "Egress", "Loft B3", "received by"):
        assert word in owner
    assert "number them on from those" in bench
    shown = " ".join(owner.split())
    assert "cylinders to re-pin 3; rows of the chart: 1 new keys" in shown
    assert "cylinders to re-pin 2; openings: 1 new keys" in shown
    book = openpyxl.load_workbook(tmp_path / "one" / "order-bench.xlsx")
    assert "pins of trip 1" in book.sheetnames
    rows = list(book["pins of trip 1"].values)[2:]
    assert [row[2] for row in rows] == ["found", "new"]
    assert rows[0][3:] != rows[1][3:]


def test_the_list_of_what_to_do_cuts_no_key_like_the_lost_one(yard: Path, tmp_path: Path) -> None:
    """The lost copy is retired under a name of its own; the keys to cut are those of the plan."""
    result = _lost(yard, "AB", out=tmp_path / "after")
    assert result.saved is not None
    rows = (tmp_path / "after/changes.csv").read_text().splitlines()
    assert "AB lost,retire,active,retired" in rows
    cut = {row.split(",")[0] for row in rows if row.split(",")[1] in ("cut", "re-cut")}
    assert cut == set(result.plans[0].plan.recut)


def test_a_plan_beyond_those_found_writes_nothing(yard: Path, tmp_path: Path) -> None:
    """The number is told, and no folder is made."""
    result = _lost(yard, "AB", number=9, orders=tmp_path / "none")
    assert [one.code for one in result.findings] == ["lost-no-such-plan"]
    assert not (tmp_path / "none").exists()


def test_nothing_is_printed_of_a_plan_that_is_not_proved(yard: Path, tmp_path: Path) -> None:
    """Were one state not proved, no order is written and the finding names the plan."""
    job = load(yard).job
    assert job is not None
    result = _lost(yard, "AB")
    assert result.answer is not None
    one = result.plans[0]
    asked = OrderAsked(
        before=job,
        job=one.job,
        proved=False,
        exposure=result.answer.exposure,
        lost_name=result.answer.lost_name,
        plan=one.plan,
        bill=one.plan.bill,
        stages=one.plan.stages,
        meanwhile=tuple(state.meanwhile for state in one.states),
        days=1,
        swap=False,
        approved_by=None,
        paper=Paper.A4,
    )
    files, findings = write_orders(asked, tmp_path / "none")
    assert files == ()
    assert [found.code for found in findings] == ["lost-order-not-proved"]
    assert not (tmp_path / "none").exists()


def _text(path: Path) -> str:
    reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    return "\n".join(page.extract_text() for page in reader.pages)
