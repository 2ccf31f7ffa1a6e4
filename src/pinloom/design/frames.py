"""Where a layout stands: the top master's cuts and the order in which other symbols are used.

MACS forbids some neighbours. With ten depths and MACS 7, even levels in even and odd levels in odd
positions leave one forbidden pair, 0 beside 9. Two choices follow:

- *middle*: the master in the middle of the depths; the levels that MACS troubles are used last.
- *extreme*: in every second position the master takes the troubled level itself. Keys that differ
  from the master there never use it, so a code that tells groups apart in these positions and keys
  apart in the others loses nothing to MACS. It costs room for cross keys, so it comes second.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain

from pinloom.core.keyrules import breaches
from pinloom.design.problem import DesignProblem
from pinloom.design.regions import Frame
from pinloom.design.rules import Legal, advised
from pinloom.design.symbols import Bools, SymbolSpace

DRAWS = 60


def make_frame(
    problem: DesignProblem,
    space: SymbolSpace,
    legal: Legal,
    top: int | None,
    *,
    seed: int,
    extreme: bool = False,
) -> Frame:
    """The frame of a problem. ``top`` = the top master, whose given cuts are kept."""
    mask: Bools = legal.mask(None, space.levels).reshape(-1) & space.regular_mask()
    trouble = [troubled(problem, space, p) for p in range(problem.positions)]
    rng = random.Random(f"frame {seed} {extreme}")  # noqa: S311 (a search, no secret)
    frame = Frame(
        problem=problem,
        space=space,
        centre=(0,) * problem.positions,
        orders=((),) * problem.positions,
        mask=mask,
        strides=space.strides(),
    )
    centre = _centre(frame, legal, top, trouble, rng, extreme=extreme)
    orders = tuple(_order(space, p, centre[p], trouble[p], rng) for p in range(problem.positions))
    return replace(frame, centre=centre, orders=orders)


def troubled(problem: DesignProblem, space: SymbolSpace, position: int) -> list[int]:
    """Per symbol of a position, how many symbols of the neighbouring positions MACS forbids it."""
    found = []
    for level in space.levels[position]:
        beside = [
            other
            for p in (position - 1, position + 1)
            if 0 <= p < problem.positions
            for other in space.levels[p]
        ]
        found.append(sum(abs(level - other) > problem.macs for other in beside))
    return found


def _centre(
    frame: Frame,
    legal: Legal,
    top: int | None,
    trouble: Sequence[Sequence[int]],
    rng: random.Random,
    *,
    extreme: bool,
) -> tuple[int, ...]:
    """Symbols of the top master: given cuts kept, else near the middle (or extreme), advised rules
    kept as far as a few draws allow.
    """
    problem, space = frame.problem, frame.space
    given = (problem.fixed[top] if top is not None else None) or (None,) * problem.positions
    choices = []
    for p, levels in enumerate(space.levels):
        cut = given[p]
        if cut is not None:
            choices.append([levels.index(cut)])
        elif extreme and p % 2 == 0 and max(trouble[p]):
            choices.append([max(range(len(levels)), key=lambda s: (trouble[p][s], -s))])
        else:
            choices.append(_middle(space, p))
    rules = advised(problem.rules)
    best: tuple[tuple[int, int, float], tuple[int, ...]] | None = None
    draws = (tuple(c[0] if n == 0 else rng.choice(c) for c in choices) for n in range(DRAWS))
    middle = tuple(c[0] for c in choices)
    for tried, word in enumerate(chain(draws, _beside(space, given, middle)), start=1):
        levels_of = tuple(space.levels[p][s] for p, s in enumerate(word))
        faults = len(breaches(levels_of, problem.levels, problem.bow_first, rules))
        own = legal.breaks(top, levels_of) if top is not None else []
        illegal = len(own) if top is not None else int(not frame.allows(word))
        rank = (illegal, faults, rng.random())
        if best is None or rank < best[0]:
            best = rank, word
        if tried >= DRAWS and not best[0][0]:
            break
    assert best is not None
    return best[1]


def _beside(
    space: SymbolSpace, given: Sequence[int | None], word: tuple[int, ...]
) -> Iterator[tuple[int, ...]]:
    """Words with one cut changed that is not given beforehand, for a middle that breaks a rule (all
    cuts alike, say): the last position first, near symbols first.
    """
    for p in reversed(range(len(word))):
        others = [s for s, flag in enumerate(space.regular[p]) if flag and s != word[p]]
        if given[p] is None:
            for symbol in sorted(others, key=lambda s: abs(s - word[p])):
                yield (*word[:p], symbol, *word[p + 1 :])


def _middle(space: SymbolSpace, position: int) -> list[int]:
    """The regular symbols nearest the middle: one where their number is odd, else two."""
    regular = [s for s, flag in enumerate(space.regular[position]) if flag]
    half = (len(regular) - 1) // 2
    return regular[half : len(regular) - half]


def _order(
    space: SymbolSpace, position: int, centre: int, trouble: Sequence[int], rng: random.Random
) -> tuple[int, ...]:
    """The other regular symbols, those that MACS troubles last, otherwise shuffled by the seed."""
    others = [s for s, flag in enumerate(space.regular[position]) if flag and s != centre]
    rank = {s: rng.random() for s in others}
    return tuple(sorted(others, key=lambda s: (trouble[s], rank[s])))
