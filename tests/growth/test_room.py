"""Room left under a master."""

from itertools import combinations

import pytest

from pinloom.core.bitting import Bitting
from pinloom.growth.room import antichain, room
from pinloom.hardware import load_format
from tests.growth.kit import chart_of, every_bitting, job_of, opens_by_levels, tiny


@pytest.mark.published
def test_no_master_has_room_for_more_than_the_antichain() -> None:
    """Formula derived, in line with Cernoch, Kuzelka, Zelezny, Applied Artificial Intelligence
    30(10), 2016: six chambers with four further depths 6,144; five chambers with five 3,125.
    """
    two_step, one_step = load_format("us-6x10-015").format, load_format("us-5x6-023").format
    assert two_step is not None
    assert one_step is not None
    assert antichain(two_step) == 6_144
    assert antichain(one_step) == 3_125


def test_room_is_exact_on_a_small_lock() -> None:
    """Under a master with one key in it, the room equals the largest set that brute force finds,
    and the keys that come next fit together.
    """
    made = tiny(chambers=2, depths=3, masters=2)
    chart = chart_of({"a": "M A", "b": "M"})
    job = job_of(chart, made, ((0, 2), (1, 2)))
    cuts = job.bittings
    found = room(job, "M")
    master, first = cuts[1], cuts[0]
    free = [c for c in every_bitting(made) if c not in cuts and len(set(c)) > 1]

    def together(keys: tuple[Bitting, ...]) -> bool:
        everyone = (first, *keys)
        return all(
            not opens_by_levels([{a, m} for a, m in zip(mine, master, strict=True)], other, 1)
            for mine in everyone
            for other in everyone
            if other != mine
        ) and not any(key == master for key in keys)

    largest = max(
        n for n in range(len(free) + 1) if any(together(s) for s in combinations(free, n))
    )
    assert found.least == found.most == largest
    assert together(found.following)


def test_bounds_enclose_and_shrink_when_a_key_is_taken() -> None:
    """On a usual format the bounds stand in order and count what exists."""
    made = load_format("us-5x6-023").format
    assert made is not None
    job = job_of(
        chart_of({"a": "M A", "b": "M B"}),
        made,
        ((0, 2, 3, 2, 3), (3, 2, 3, 2, 3), (2, 2, 3, 2, 3)),
    )
    found = room(job, "M", show=5)
    assert found.existing == 2
    assert 0 < found.least <= found.most <= antichain(made) - 2
    assert len(found.following) == 5
