"""The plain encoding that the engine is measured against says what is true."""

import pytest

from bench.charts import clique
from bench.direct import Direct, recount
from tests.oracle.charts import tiny_format


def test_keys_that_open_all_doors_but_one() -> None:
    """Each such key wants a cut that no other has, in some chamber: of four depths at most three
    can be had so, in three chambers nine. The encoding finds nine keys and refuses ten.
    """
    lock = tiny_format(3, 4)
    cuts = Direct(clique(9).chart(), lock).solve()
    assert cuts is not None
    assert recount(clique(9).chart(), lock, cuts) == 0
    assert Direct(clique(10).chart(), lock).solve() is None


def test_two_step_cuts_are_kept_apart() -> None:
    """With six depths of two-step cuts there are three symbols a chamber, so two keys: two chambers
    hold four such keys and not five.
    """
    lock = tiny_format(2, 6, least_step=2)
    cuts = Direct(clique(4).chart(), lock).solve()
    assert cuts is not None
    assert recount(clique(4).chart(), lock, cuts) == 0
    assert Direct(clique(5).chart(), lock).solve() is None


def test_the_constraint_program_says_the_same() -> None:
    """It finds and refuses what the plain encoding finds and refuses, one-step and two-step."""
    reason = "CP-SAT is not installed: ./dev setup second-opinion"
    program = pytest.importorskip("bench.cpsat", reason=reason, exc_type=ImportError)
    for lock, most in ((tiny_format(3, 4), 9), (tiny_format(2, 6, least_step=2), 4)):
        verdict, cuts = program.ConstraintProgram(clique(most).chart(), lock).solve()
        assert verdict == "designed"
        assert recount(clique(most).chart(), lock, cuts) == 0
        one_more = program.ConstraintProgram(clique(most + 1).chart(), lock)
        assert one_more.solve() == ("impossible", None)
