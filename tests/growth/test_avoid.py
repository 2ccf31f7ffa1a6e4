"""Cuts that no new or re-cut key may get: growth keeps away from each of them."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.core.bitting import Bitting
from pinloom.core.request import DesignOutcome, DesignRequest, GaveUp
from pinloom.growth.frozen import places
from pinloom.growth.grow import Grown, grow
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
