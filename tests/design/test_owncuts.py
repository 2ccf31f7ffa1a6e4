"""Every key a cut of its own: the theorem, its bound, and what may stand in the way."""

from dataclasses import replace

import pytest

from bench.charts import clique, dense, problem_chart
from pinloom.core.request import Designed, DesignRequest
from pinloom.design import design
from pinloom.design.owncuts import own_cuts
from pinloom.design.problem import wrong_pairs
from tests.design.test_cutwise import problem_of
from tests.proof.formats import us_6x10_015


@pytest.mark.parametrize("density", [0.1, 0.5, 0.9])
def test_any_chart_of_24_keys_is_designed(density: float) -> None:
    """Six chambers of five separable depths: any 24 keys, whatever they open. A plain recount finds
    no wrong opening.
    """
    for seed in range(5):
        problem = problem_of(dense(24, 24, density, seed).chart(seed))
        words = own_cuts(problem)
        assert words is not None
        assert len(set(words)) == 24
        assert not wrong_pairs(problem, words)


def test_the_bound_is_met_and_no_more_is_claimed() -> None:
    """24 keys that each open all doors but one have a design by own cuts, 25 have none that way
    (nor any other: ``crossed_keys``).
    """
    assert own_cuts(problem_of(clique(24).chart())) is not None
    assert own_cuts(problem_of(clique(25).chart())) is None


def test_fewer_master_pins_hold_fewer_keys() -> None:
    """With two master pins a chamber two keys a chamber have a cut of their own: twelve keys."""
    for count, fits in ((12, True), (13, False)):
        problem = replace(problem_of(clique(count).chart()), max_masters=2)
        words = own_cuts(problem)
        assert (words is not None) == fits
        assert words is None or not wrong_pairs(problem, words)


def test_given_cuts_may_stand_in_the_way() -> None:
    """A bitting that leaves everybody's cuts in two chambers is not forced into the scheme."""
    problem = problem_of(clique(24).chart())
    near = replace(problem, fixed=((2, 5, 4, 5, 4, 5), *problem.fixed[1:]))
    words = own_cuts(near)
    assert words is not None
    assert words[0] == (2, 5, 4, 5, 4, 5)
    far = replace(problem, fixed=((2, 3, 4, 5, 4, 5), *problem.fixed[1:]))
    assert own_cuts(far) is None


def test_random_24_by_24_at_half_is_designed_whole() -> None:
    """The chart that was open before, from request to design."""
    chart, made = problem_chart("D24"), us_6x10_015()
    outcome = design(
        DesignRequest(
            chart=chart,
            key_format=made,
            cylinder_formats=(made,) * len(chart.doors),
            fixed=(None,) * len(chart.keys),
        )
    )
    assert isinstance(outcome, Designed)
    assert outcome.steps < 10
    assert not wrong_pairs(problem_of(chart), outcome.bittings)
