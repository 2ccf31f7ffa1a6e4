"""The oracles agree with each other, and the tasks they are asked are worth asking."""

from collections import Counter

from tests.oracle.brute import Tiny, TinyLock, is_right, solve
from tests.oracle.plain import solve_plain
from tests.oracle.random_tasks import any_task, built_task


def test_brute_force_and_plain_encoding_agree() -> None:
    """Backtracking over words and a plain SAT encoding give the same verdict on 50 tasks."""
    for seed in range(25):
        for task in (any_task(seed), built_task(seed)):
            plain = solve_plain(task)
            try:
                brute = solve(task, limit=5_000)
            except RuntimeError:
                continue  # too large for brute force; the plain encoding stands alone
            assert (plain is None) == (brute is None), task
            for words in (plain, brute):
                assert words is None or is_right(task, words), task


def test_tasks_are_neither_all_easy_nor_all_impossible() -> None:
    """Of the random tasks a good part is solvable and a good part is not."""
    verdicts = Counter(
        solve_plain(make(seed)) is not None
        for make in (any_task, built_task)
        for seed in range(5, 30)
    )
    assert min(verdicts[True], verdicts[False]) > 10, verdicts


def test_a_lock_that_is_known() -> None:
    """Two depths, two chambers, one master over two keys with doors of their own: possible; over
    three it is not (no three words lie pairwise beside each other).
    """

    def family(n: int) -> Tiny:
        return Tiny(
            positions=2,
            levels=2,
            macs=1,
            least_step=1,
            pins=frozenset({1}),
            most_masters=4,
            keys=n + 1,
            locks=tuple(TinyLock(openers=(i, n), active=(0, 1)) for i in range(n)),
            all_equal_refused=False,
        )

    assert solve(family(2)) is not None
    assert solve(family(3)) is None
    assert solve_plain(family(3)) is None
