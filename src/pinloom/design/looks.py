"""How keys look: the rules of ``core.keyrules`` in clauses, and words that look well."""

from collections.abc import Mapping, Sequence
from itertools import combinations, pairwise
from random import Random

from pinloom.core.bitting import Bitting
from pinloom.core.keyrules import Force, KeyRules, breaches
from pinloom.design.problem import DesignProblem
from pinloom.design.rules import advised, required
from pinloom.design.sat import Sat

TRIES = 2_000

Off = Mapping[str, Sequence[int]]  # field of a rule -> literals that switch it off


def keep_rules(
    sat: Sat, cut: list[list[int]], rules: KeyRules, *, bow_first: bool, off: Off | None = None
) -> None:
    """One key keeps every rule that is not OFF. ``cut[p][v]``: it has level v in position p."""
    off = off or {}
    if rules.not_all_equal is not Force.OFF and len(cut) > 1:
        _not_all(sat, [cut], off.get("not_all_equal", ()))
    if rules.neighbours_equal is not Force.OFF:
        run = rules.most_neighbours_equal + 1
        windows = [cut[start : start + run] for start in range(len(cut) - run + 1)]
        _not_all(sat, windows, off.get("neighbours_equal", ()))
    if rules.total_equal is not Force.OFF:
        some = [list(rows) for rows in combinations(cut, rules.most_total_equal + 1)]
        _not_all(sat, some, off.get("total_equal", ()))
    if rules.not_steady is not Force.OFF and len(cut) > 1:
        _turn(sat, cut, off.get("not_steady", ()))
        _turn(sat, [row[::-1] for row in cut], off.get("not_steady", ()))
    if rules.not_deep_at_bow is not Force.OFF:
        bow = cut[0] if bow_first else cut[-1]
        guard = off.get("not_deep_at_bow", ())
        sat.add_all([*guard, -x] for x in bow[len(bow) - rules.deep_at_bow_levels :])


def _not_all(sat: Sat, groups: list[list[list[int]]], guard: Sequence[int]) -> None:
    """In no group of positions have all the same level."""
    for rows in groups:
        for same in zip(*rows, strict=True):
            sat.add([*guard, *(-x for x in same)])


def _turn(sat: Sat, cut: list[list[int]], guard: Sequence[int]) -> None:
    """Somewhere the next level is not higher."""
    turns = sat.vars(len(cut) - 1)
    sat.add([*guard, *turns])
    for turn, (left, right) in zip(turns, pairwise(cut), strict=True):
        for v, x in enumerate(left):
            sat.add_all([-turn, -x, -y] for y in right[v + 1 :])


def base_word(problem: DesignProblem, seed: int) -> Bitting:
    """A bitting drawn from the seed that keeps MACS and, where tries find one, every key rule."""
    random = Random(seed)  # noqa: S311 - a repeatable choice, no secret
    word = _draw(problem, random)
    for _ in range(TRIES):
        if not any(
            breaches(word, problem.levels, problem.bow_first, rules)
            for rules in (required(problem.rules), advised(problem.rules))
        ):
            break
        word = _draw(problem, random)
    return word


def _draw(problem: DesignProblem, random: Random) -> Bitting:
    word = [random.randrange(problem.levels)]
    while len(word) < problem.positions:
        low, high = word[-1] - problem.macs, word[-1] + problem.macs
        word.append(random.randint(max(0, low), min(problem.levels - 1, high)))
    return tuple(word)
