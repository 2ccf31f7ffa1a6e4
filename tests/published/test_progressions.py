"""Standard progressions against numbers from print; each test names its source."""

from dataclasses import replace
from itertools import pairwise, product
from math import comb

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat
from pinloom.design.progression import (
    Progression,
    ProgressionMethod,
    list_keys,
    possible_masters,
    progression,
)
from tests.pinning.kit import cuts, shipped
from tests.proof.formats import tiny

pytestmark = pytest.mark.published

TWO_STEP = replace(shipped("ic-6x10-0125"), macs=7)  # the counts of T-3a and T-3c are for MACS 7


def interchanges(made: HardwareFormat, plan: Progression) -> list[tuple[Bitting, Bitting]]:
    """Pairs of which the first opens the cylinder pinned for the second and the master: plainly."""
    keys = list(plan.listing())
    return [
        (a, b)
        for a, b in product(keys, repeat=2)
        if a != b
        and all(
            min(abs(x - y), abs(x - m)) < made.least_step
            for x, y, m in zip(a, b, plan.master, strict=True)
        )
    ]


@pytest.mark.parametrize(("chambers", "count"), [(5, 1_024), (6, 4_096), (7, 16_384)])
def test_c4_two_step_total_position(chambers: int, count: int) -> None:
    """C-4: two-step, four progressives a chamber: 1,024, 4,096 and 16,384 change keys.

    Source: Locksmith Ledger, "Thoughts on Master Keying", 1 Oct 2010, and 15 Dec 2004; the
    comparison figure of Keynotes.
    """
    made = tiny(chambers, 10, least_step=2)
    plan = progression(made, (4,) * chambers)
    assert plan.method is ProgressionMethod.TOTAL
    assert [len(column) for column in plan.columns] == [4] * chambers
    assert plan.count() == len(set(plan.listing())) == count


@pytest.mark.parametrize(
    ("chambers", "depths", "count"),
    [(6, 6, 15_625), (7, 6, 78_125), (6, 7, 46_656), (7, 7, 279_936)],
)
def test_c5_one_step_total_position(chambers: int, depths: int, count: int) -> None:
    """C-5: one-step, six depths 5^6 and 5^7, seven depths 6^6 and 6^7 change keys.

    Source: Keynotes, Sept 2016, figs 18-19.
    """
    made = tiny(chambers, depths, least_step=1)
    plan = progression(made, (2,) * chambers)
    assert plan.count() == sum(1 for _ in plan.listing()) == count


def test_c6_rotating_constants() -> None:
    """C-6: six chambers, two of them progressed at a time, two-step: C(6,2) x 4^2 = 240 keys.

    Source: Keynotes, article on minimal master keying. That none opens another's cylinder is
    looked at pair by pair.
    """
    made = tiny(6, 10, least_step=2)
    plan = progression(made, (4, 2, 5, 3, 6, 7), rotating=4)
    keys = list(plan.listing())
    assert plan.method is ProgressionMethod.ROTATING
    assert plan.count() == len(set(keys)) == comb(6, 2) * 4**2 == 240
    assert all(sum(a != b for a, b in zip(key, plan.master, strict=True)) == 2 for key in keys)
    assert interchanges(made, plan) == []


@pytest.mark.parametrize(("chambers", "depths", "step"), [(3, 4, 1), (3, 7, 2), (4, 3, 1)])
def test_no_progression_interchanges(chambers: int, depths: int, step: int) -> None:
    """In every way of progressing, no key opens another's cylinder; two ways together do."""
    made = tiny(chambers, depths, least_step=step)
    master = tuple(n % depths for n in range(1, chambers + 1))
    for rotating in range(chambers):
        assert interchanges(made, progression(made, master, rotating=rotating)) == []
    assert interchanges(made, progression(made, master, constants=[1])) == []
    both = [
        *progression(made, master).listing(),
        *progression(made, master, constants=[0]).listing(),
    ]
    assert any(
        a != b and all(x in (y, m) for x, y, m in zip(a, b, master, strict=True))
        for a, b in product(both, repeat=2)
    )


def test_t3a_array_and_list() -> None:
    """T-3a: under top master 528614 the array reads 742836, 304052, 186290, 960478 row by row;
    4,096 keys, of which 3,027 keep MACS 7 (1,069 break it).

    Source of the array: 5402 Series Technical Manual, p. 3-19; the count of breaches is derived.
    """
    rows = [cuts(TWO_STEP, text) for text in ("742836", "304052", "186290", "960478")]
    master = cuts(TWO_STEP, "528614")
    plan = progression(TWO_STEP, master, rows=rows)
    own = progression(TWO_STEP, master)
    assert [sorted(column) for column in plan.columns] == [list(column) for column in own.columns]
    assert list(zip(*plan.columns, strict=True)) == rows
    listed = list_keys(TWO_STEP, plan, 5_000)
    assert (listed.count, listed.usable, len(listed.keys)) == (4_096, 4_096 - 1_069, 3_027)
    assert all(abs(a - b) <= 7 for key in listed.keys for a, b in pairwise(key))
    # The first key of the list is the first row, the next differs in the last chamber alone.
    first = list(plan.listing())[:5]
    assert [TWO_STEP.stamp(key) for key in first] == [
        "742836", "742832", "742830", "742838", "742856",
    ]  # fmt: skip


def test_t3c_one_chamber_moving() -> None:
    """T-3c: under 11111 with the first chamber moving 31111 51111 71111 91111; under 31111 with the
    second moving 33111 35111 37111 39111; of these 91111 and 39111 break MACS 7 (steps of 8).

    Source: lockpicking101.com forum f=50 t=66014.
    """
    made = replace(TWO_STEP, chambers=5)
    top = progression(made, (1,) * 5, constants=[1, 2, 3, 4])
    assert top.method is ProgressionMethod.PARTIAL
    assert [made.stamp(key) for key in top.listing()] == ["31111", "51111", "71111", "91111"]
    below = progression(made, (3, 1, 1, 1, 1), constants=[0, 2, 3, 4])
    listed = [made.stamp(key) for key in below.listing()]
    assert listed == ["33111", "35111", "37111", "39111"]
    assert [made.stamp(k) for k in list_keys(made, top, 9).keys] == ["31111", "51111", "71111"]
    assert [made.stamp(k) for k in list_keys(made, below, 9).keys] == listed[:3]


def test_r3_only_one_top_master() -> None:
    """R-3: seven change keys of a two-step total position progression leave one top master, 405904.

    Source: lockpicking101.com forum, "Masterkey puzzle", 20 Oct 2013. Its array lists all seven.
    """
    made = tiny(6, 10, least_step=2)
    texts = ("269766", "241140", "843326", "687366", "241588", "221562", "041348")
    keys = [tuple(int(sign) for sign in text) for text in texts]
    assert possible_masters(made, keys) == ((4,), (0,), (5,), (9,), (0,), (4,))
    plan = progression(made, (4, 0, 5, 9, 0, 4))
    assert set(keys) <= set(plan.listing())
    # With one key fewer in hand more masters remain.
    assert any(len(levels) > 1 for levels in possible_masters(made, keys[:2]))


def test_order_of_progression_is_chosen() -> None:
    """The chamber named first moves with every key; counts by MACS equal a plain listing."""
    made = tiny(3, 5, least_step=1, macs=2)
    plan = progression(made, (0, 2, 4), order=[1, 2, 0])
    keys = list(plan.listing())
    assert keys[:5] == [(1, 0, 0), (1, 1, 0), (1, 3, 0), (1, 4, 0), (1, 0, 1)]
    for rotating in (0, 1, 2):
        some = progression(made, (0, 2, 4), rotating=rotating)
        kept = [k for k in some.listing() if all(abs(a - b) <= 2 for a, b in pairwise(k))]
        listed = list_keys(made, some, 7, first=3)
        assert listed.usable == len(kept) < listed.count == len(list(some.listing()))
        assert list(listed.keys) == kept[3:10]
