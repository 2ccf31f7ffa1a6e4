"""Room left under a master."""

from dataclasses import replace
from functools import partial
from itertools import combinations, product
from random import Random

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.groups import above, with_further
from pinloom.core.job import Job
from pinloom.core.room import KeptRoom
from pinloom.growth.continued import Arrays, first_that_fit
from pinloom.growth.further import Extension
from pinloom.growth.room import antichain, room
from pinloom.hardware import load_format
from tests.growth.kit import chart_of, every_bitting, job_of, opens_by_levels, right, tiny


def holds(job: Job, master: str, cuts: tuple[Bitting, ...]) -> bool:
    """Whether so many further keys with these cuts, each with its door, do what they shall while
    all that is there stays: plainly, pair by pair.
    """
    grown = with_further(job.chart, {master: len(cuts)})
    known = job.cuts() | dict(zip(grown.keys[master], cuts, strict=True))
    rows = tuple(known[key.name] for key in grown.chart.keys)
    splits = [
        [{rows[k][p] for k in row} for p in range(job.key_format.chambers)]
        for row in grown.chart.openers
    ]
    return right(grown.chart, job.key_format, rows, splits)


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


@pytest.mark.parametrize(
    ("chambers", "q", "most"), [(6, 4, 6_144), (5, 4, 1_280), (7, 4, 28_672), (6, 5, 18_750)]
)
@pytest.mark.published
def test_c9_is_the_most_that_room_can_say(chambers: int, q: int, most: int) -> None:
    """C-9: no more than max over c of C(P, c) q^(P - c) change keys under one master, on formats
    whose MACS forbids nothing; what is found beside one key, and that key, stay below it.

    Source: formula derived, in line with Cernoch, Kuzelka, Zelezny, Applied Artificial
    Intelligence 30(10), 2016.
    """
    made = tiny(chambers, q + 1, macs=q, masters=1)
    master = (0,) * (chambers - 1) + (1,)
    job = job_of(chart_of({"a": "M A", "b": "M"}), made, ((1,) * (chambers - 1) + (0,), master))
    found = room(job, "M", show=0)
    assert antichain(made) == most
    assert found.existing == 1
    assert 0.8 * most < found.least + found.existing <= found.most + found.existing == most


@pytest.mark.parametrize("seed", range(12))
def test_what_follows_fits_together(seed: int) -> None:
    """On random small systems: all that certainly fits does, tried plainly, with two masters above
    and with depths two steps apart; what is kept comes first; the quick count never says more.
    """
    rng = Random(seed)
    made = tiny(chambers=3, depths=6, least_step=1 + seed % 2, macs=4, masters=3)
    chart = chart_of({"a": "T M A", "b": "T M B", "c": "T C"})
    while True:
        cuts = tuple(rng.sample(every_bitting(made), len(chart.keys)))
        job = job_of(chart, made, cuts)
        if holds(job, "M", ()):
            break
    for master in ("M", "T"):
        found = room(job, master, show=1_000)
        assert len(found.following) <= found.least
        assert holds(job, master, found.following)
        quick = first_that_fit(job, {master: 1_000})[master]
        assert len(quick) <= found.most
        assert holds(job, master, quick)
        kept = found.following[-2:]
        held = replace(job, kept=(KeptRoom(under=master, asked=3, cuts=kept),))
        again = room(held, master, show=1_000)
        assert (again.asked, again.kept) == (3, len(kept))
        assert again.following[: len(kept)] == kept
        assert holds(job, master, again.following)


def test_arrays_go_on_where_a_layout_ends() -> None:
    """Where the depths that a group carries leave too few, its array tells further ones: the first
    stay as they were, all of them fit together, tried plainly, and are counted as left.
    """
    more = 0
    for seed in range(12):
        rng = Random(f"array {seed}")
        made = tiny(chambers=3, depths=6, least_step=1 + seed % 2, macs=4, masters=3)
        chart = chart_of({"a": "T M A", "b": "T M B", "c": "T C"})
        while True:
            cuts = tuple(rng.sample(every_bitting(made), len(chart.keys)))
            job = job_of(chart, made, cuts)
            if holds(job, "M", ()):
                break
        index = chart.key_index()
        higher = above(chart, index["M"])
        used = tuple((level,) for level in job.bittings[index["A"]])
        few = Extension(job).free(higher, used, 3)
        extension = Extension(job)
        after = partial(Arrays(job, extension).following, index["M"], higher)
        found = extension.free(higher, used, 3, after=after)
        assert found.unused[: len(few.unused)] == few.unused
        assert len(found.unused) <= found.left
        assert holds(job, "M", found.unused)
        more += len(found.unused) > len(few.unused)
    assert more > 2


def test_room_leaves_what_is_kept_under_others() -> None:
    """Room under one master beside what is kept under another: all of it together still holds."""
    made = load_format("us-5x6-023").format
    assert made is not None
    chart = chart_of({"a": "T M A", "b": "T M B", "c": "T N C", "d": "T N D"})
    cuts = {
        "T": (3, 3, 3, 3, 3), "M": (1, 3, 3, 3, 3), "N": (5, 3, 3, 3, 3),
        "A": (1, 3, 3, 1, 3), "B": (1, 3, 3, 5, 3), "C": (5, 3, 3, 1, 3), "D": (5, 3, 3, 5, 3),
    }  # fmt: skip
    job = job_of(chart, made, tuple(cuts[key.name] for key in chart.keys))
    kept = room(job, "M", show=4).following
    job = replace(job, kept=(KeptRoom(under="M", asked=4, cuts=kept),))
    other = room(job, "N", show=20).following
    assert len(kept) == 4
    assert len(other) == 20
    grown = with_further(job.chart, {"M": 4, "N": 20})
    known = job.cuts() | dict(zip(grown.keys["M"] + grown.keys["N"], kept + other, strict=True))
    rows = tuple(known[key.name] for key in grown.chart.keys)
    splits = [[{rows[k][p] for k in row} for p in range(5)] for row in grown.chart.openers]
    assert right(grown.chart, made, rows, splits)


def _array_job(master: str, keys: list[str], macs: int) -> Job:
    """A top master with change keys of a two-step array, each with a door of its own."""
    made = replace(tiny(6, 10, least_step=2, masters=1), macs=macs)
    names = [f"A{n}" for n in range(1, len(keys) + 1)]
    chart = chart_of({f"door {name}": f"TOP {name}" for name in names})
    cuts = {"TOP": master, **dict(zip(names, keys, strict=True))}
    return job_of(chart, made, tuple(_cut(cuts[key.name]) for key in chart.keys))


def _cut(text: str) -> Bitting:
    return tuple(int(sign) for sign in text)


def _listing(rows: list[str]) -> list[Bitting]:
    """The keys of an array in total position order: the last chamber moves fastest."""
    return list(product(*(dict.fromkeys(int(row[p]) for row in rows) for p in range(6))))


@pytest.mark.published
def test_t3a_array_is_filled_in_order() -> None:
    """T-3a: under 528614 the array 742836, 304052, 186290, 960478 holds 4,096 keys, of which 3,027
    keep MACS 7. Three of its four rows do; with the rows cut, the other 3,024 follow in order.

    Source of the array: 5402 Series Technical Manual, p. 3-19; the count of breaches is derived.
    """
    rows = ["742836", "304052", "186290", "960478"]
    job = _array_job("528614", rows, macs=7)
    found = room(job, "TOP", show=5_000)
    expected = [
        key
        for key in _listing(rows)
        if all(abs(a - b) <= 7 for a, b in zip(key, key[1:], strict=False))
        and key not in job.bittings
    ]
    assert len(expected) == 3_027 - 3
    assert list(found.following) == expected


@pytest.mark.published
def test_r3_array_is_filled_in_order() -> None:
    """R-3: seven keys of a two-step total position progression under 405904; the rest of their
    array follows in order, depths not seen yet last.

    Source: lockpicking101.com forum, "Masterkey puzzle", 20 Oct 2013.
    """
    keys = ["269766", "241140", "843326", "687366", "241588", "221562", "041348"]
    job = _array_job("405904", keys, macs=9)
    found = room(job, "TOP", show=5_000)
    rows = [*keys, *(str(depth) * 6 for depth in range(10))]
    columns = [
        list(
            dict.fromkeys(
                int(row[p]) for row in rows if (int(row[p]) - m) % 2 == 0 and int(row[p]) != m
            )
        )
        for p, m in enumerate(_cut("405904"))
    ]
    expected = [key for key in product(*columns) if key not in job.bittings]
    assert len(expected) == 4**6 - 7
    assert list(found.following) == expected
