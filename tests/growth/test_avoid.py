"""Cuts that no new or re-cut key may get: growth keeps away from each of them."""

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.core.bitting import Bitting
from pinloom.core.request import DesignOutcome, DesignRequest, GaveUp
from pinloom.growth.frozen import places
from pinloom.growth.grow import Grown, grow
from pinloom.growth.lost import Plan, lost
from pinloom.growth.moving import Wall, axes_of
from pinloom.growth.wanted import lay_over, system_of
from tests.growth.kit import chart_of, every_bitting, job_of, tiny

MADE = tiny(chambers=3, depths=4)
CUTS: tuple[Bitting, ...] = ((0, 1, 2), (0, 1, 3), (0, 1, 1))  # of A, B and M
NOW = {"door 1": "A M", "door 2": "B M"}
LATER = NOW | {"door 3": "N M"}


@given(held=st.sets(st.sampled_from(every_bitting(MADE)), max_size=64))
@settings(max_examples=40, deadline=None)
def test_every_place_but_the_held_ones_is_offered(held: set[Bitting]) -> None:
    """The exact answer with cuts to avoid is the exact answer without, less these cuts."""
    job = job_of(chart_of(NOW), MADE, CUTS)
    chart = chart_of(LATER)
    formats = (MADE,) * len(chart.doors)
    free = system_of(job, lay_over(job, chart, formats), formats, frozenset())
    key = chart.key_index()["N"]
    every = {cut for cut in every_bitting(MADE) if places(free, key).fits[cut]}
    found = places(replace(free, avoid=tuple(held)), key).fits
    assert {cut for cut in every_bitting(MADE) if found[cut]} == every - held
    answer = grow(job, chart, formats, avoid=sorted(held))
    if every - held:
        assert isinstance(answer, Grown)
        assert answer.bittings[key] not in held
    else:
        assert not isinstance(answer, Grown)
        assert answer.proved


def test_a_designer_is_told_too() -> None:
    """Where several keys are left to a design, it hears of the cuts to avoid, those of keys that
    keep them left out; more keys than such doors can ever have are not placed one by one."""
    job = job_of(chart_of(NOW), MADE, CUTS)
    chart = chart_of(LATER | {f"door {n}": f"N{n} M" for n in range(4, 40)})
    heard: list[tuple[Bitting, ...]] = []

    def designer(request: DesignRequest) -> DesignOutcome:
        heard.append(request.avoid)
        return GaveUp(steps=0, best=None, wrong=())

    formats = (MADE,) * len(chart.doors)
    answer = grow(job, chart, formats, avoid=[(0, 1, 2), (3, 3, 0)], designer=designer)
    assert not isinstance(answer, Grown)
    assert not answer.proved
    assert heard == [((3, 3, 0),)]


# A layered system: chambers 1 and 2 tell groups apart, 3 and 4 keys. Invented for this test.
LAYERED: dict[str, Bitting] = {
    "TOP": (2, 2, 2, 2),
    "A": (0, 2, 2, 2),
    "B": (2, 0, 2, 2),
    "A1": (0, 2, 0, 2),
    "A2": (0, 2, 2, 0),
    "B1": (2, 0, 0, 2),
    "B2": (2, 0, 2, 0),
}


def _given(plan: Plan) -> set[Bitting]:
    """Cuts that a plan gives to keys that did not have them."""
    return {
        cut
        for key, cut in zip(plan.chart.keys, plan.bittings, strict=True)
        if key.name in plan.recut
    }


def test_a_key_that_moves_may_keep_its_cuts_and_get_no_held_ones() -> None:
    """Of the places of a key that moves the held ones are struck, and its own is not."""
    job = job_of(chart_of(NOW), MADE, CUTS)
    formats = (MADE,) * len(job.chart.doors)
    free = system_of(job, lay_over(job, job.chart, formats), formats, frozenset({"A"}))
    key = job.chart.key_index()["A"]
    axes = axes_of(free)
    never = np.full(len(free.cuts), np.inf, dtype=np.float32)
    places_now = [
        tuple(axis[int(i)] for axis, i in zip(axes, place, strict=True))
        for place in np.argwhere(Wall(free).offer(key, never, axes).good)
    ]
    assert CUTS[0] in places_now
    held = (CUTS[0], next(cut for cut in places_now if cut != CUTS[0]))
    good = Wall(replace(free, avoid=held)).offer(key, never, axes).good
    assert int(good.sum()) == len(places_now) - 1
    assert good[tuple(axis.index(v) for axis, v in zip(axes, held[0], strict=True))]


def test_a_lost_key_s_plans_give_nobody_held_cuts() -> None:
    """What earlier plans gave is held each time, so that later ones must give other cuts. To hold
    the cuts in use changes no figure: keys that stay keep theirs, and a plan may well leave a key
    that it could have cut anew."""
    made = tiny(chambers=4, depths=4)
    job = job_of(
        chart_of({f"{g}{n}": f"TOP {g} {g}{n}" for g in "AB" for n in (1, 2)}),
        made,
        tuple(LAYERED[name] for name in sorted(LAYERED)),
    )
    for name in ("A", "A1"):
        used = lost(job, name, avoid=job.bittings).plans
        figures = [(plan.minutes, len(plan.recut)) for plan in used]
        assert figures[0] == next((p.minutes, len(p.recut)) for p in lost(job, name).plans)
        held = set(job.bittings)
        for _ in range(4):
            plans = lost(job, name, avoid=sorted(held)).plans
            assert plans
            new = set[Bitting]().union(*map(_given, plans))
            assert new
            assert not new & held
            held |= new
