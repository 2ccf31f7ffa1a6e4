"""The engine against brute force and a second encoding on tiny formats."""

from contextlib import suppress

import pytest

from pinloom.core.request import Designed, GaveUp, ProvedImpossible, Remedy
from pinloom.design import design
from pinloom.design.bounds import crowded_lock, refuse, too_many_words, uncovered_cells
from pinloom.design.crossed import crossed_keys
from pinloom.design.exact import solve_exact
from pinloom.design.families import crowded_family
from pinloom.design.problem import from_request, locks_of
from pinloom.design.sat import Meter, Verdict
from tests.oracle.brute import Tiny, TinyLock, is_right, solve
from tests.oracle.charts import request_of
from tests.oracle.plain import part, solve_plain
from tests.oracle.random_tasks import any_task, built_task

BOUNDS = (too_many_words, crowded_lock, crowded_family, crossed_keys, uncovered_cells)


def numbers(names: tuple[str, ...]) -> list[int]:
    """Numbers of keys k0, k1, ... or doors d0, d1, ..."""
    return [int(name[1:]) for name in names]


@pytest.mark.parametrize("chunk", range(10))
def test_verdict_equals_brute_force(chunk: int) -> None:
    """On 200 random charts of up to 8 doors and keys the engine's verdict is the oracle's: brute
    force where it is quick enough, the plain encoding always. Every conflict reported is impossible
    by itself by that second encoding, and minimal: with any one door or key left out a design
    exists. Every remedy works. Each twenty charts hold both verdicts and some remedies.
    """
    designed = remedies = 0
    for seed in range(chunk * 20, chunk * 20 + 20):
        task = any_task(seed)
        outcome = design(request_of(task))
        truth = solve_plain(task)
        with suppress(RuntimeError):  # more than brute force takes on
            assert (solve(task, limit=3_000) is None) == (truth is None), seed
        assert not isinstance(outcome, GaveUp), seed
        assert isinstance(outcome, Designed) == (truth is not None), seed
        if isinstance(outcome, Designed):
            assert is_right(task, outcome.bittings), seed
            designed += 1
        else:
            assert isinstance(outcome, ProvedImpossible)
            check_conflict(task, outcome)
            for remedy in outcome.remedies:
                assert solve_plain(changed(task, remedy)) is not None, (seed, remedy)
            remedies += len(outcome.remedies)
    assert 0 < designed < 20
    assert remedies > 0


def check_conflict(task: Tiny, outcome: ProvedImpossible) -> None:
    """The doors and keys named are impossible alone, and none of them can be spared."""
    keys, doors = numbers(outcome.keys), numbers(outcome.doors)
    assert outcome.minimal
    assert solve_plain(part(task, keys, doors)) is None
    for key in keys:
        assert solve_plain(part(task, [k for k in keys if k != key], doors)) is not None
    for door in doors:
        assert solve_plain(part(task, keys, [d for d in doors if d != door])) is not None


def changed(task: Tiny, remedy: Remedy) -> Tiny:
    """The task with a remedy carried out, from its words alone."""
    values = dict(remedy.values)
    doors = numbers(tuple(values["door"].split(", "))) if "door" in values else []
    locks = list(task.locks)
    positions, given, most = task.positions, task.given, task.most_masters
    for door in doors:
        lock = locks[door]
        openers, outside = lock.openers, lock.outside
        if remedy.change in ("remedy-drop-mark", "remedy-leave-outside-master"):
            openers = tuple(k for k in openers if k != int(values["key"][1:]))
        elif remedy.change == "remedy-single-key-door":
            openers = ()
        elif remedy.change == "remedy-second-keyway":
            outside = frozenset(range(task.keys)) - set(openers)
        locks[door] = TinyLock(openers=openers, active=lock.active, outside=outside)
    if remedy.change == "remedy-one-more-chamber":
        full = tuple(range(positions))
        locks = [
            TinyLock(
                openers=lock.openers,
                active=(*lock.active, positions) if lock.active == full else lock.active,
                outside=lock.outside,
            )
            for lock in locks
        ]
        positions += 1
        given = tuple(None if cuts is None else (*cuts, None) for cuts in given)
    if remedy.change == "remedy-one-more-master-pin":
        most += 1
        assert values["most"] == str(most)
    new = Tiny(
        positions=positions,
        levels=task.levels,
        macs=task.macs,
        least_step=task.least_step,
        pins=task.pins,
        most_masters=most,
        keys=task.keys,
        locks=tuple(locks),
        given=given,
    )
    if remedy.change == "remedy-without-middle-masters":
        dropped = set(numbers(tuple(values["keys"].split(", "))))
        rest = [k for k in range(task.keys) if k not in dropped]
        return part(new, rest, list(range(len(locks))))
    return new


def test_bounds_never_refuse_what_is_possible() -> None:
    """Every counting bound is sound: on 240 tasks near their limits none refuses a solvable one,
    each alone and all together; and each of them does refuse some.
    """
    fired: dict[str, int] = {}
    for seed in range(240):
        task = built_task(seed)
        problem = from_request(request_of(task))
        found = [r for bound in BOUNDS if (r := bound(problem, locks_of(problem)))]
        assert (refuse(problem) is None) == (not found)
        for refusal in found:
            fired[refusal.code] = fired.get(refusal.code, 0) + 1
        if found:
            assert solve_plain(task) is None, (seed, found)
    assert len(fired) == 7, fired
    assert min(fired.values()) >= 3, fired


def test_symmetry_breaking_loses_no_solution() -> None:
    """With and without ordering of alike keys the complete part gives the same verdict, on families
    where most keys are alike.
    """
    verdicts = []
    for seed in range(80):
        problem = from_request(request_of(built_task(seed)))
        with_order = solve_exact(problem, Meter(200_000), symmetry=True).verdict
        without = solve_exact(problem, Meter(200_000), symmetry=False).verdict
        assert with_order is without, seed
        verdicts.append(with_order)
    assert verdicts.count(Verdict.SAT) > 10
    assert verdicts.count(Verdict.UNSAT) > 10
