"""From a design that is right to one that is good by the job's preference, and what is known of it.

1. Structured charts that were quick: a few layouts more from other seeds, and the best of them.
2. Polishing, one key at a time (``polish``). Where a layout is told only the keys outside the key
   tree move, so that the layout stays true and a person can extend it.
3. Small charts: the solver looks for the best and proves it (``preferences``). A layout is kept
   when the solver finds nothing better.
4. Another seed moves the design within its chambers (``another``): other cuts, equal merit, and
   what a layout that the keys still follow (``told``) leaves for further keys can still be cut.
"""

from dataclasses import dataclass, replace
from functools import partial

from pinloom.core.bitting import Bitting
from pinloom.core.job import Claim, Layout, Preference
from pinloom.design.another import another
from pinloom.design.check import Checker
from pinloom.design.inference import infer_tree
from pinloom.design.polish import is_polished, polish
from pinloom.design.preferences import claims_of, figure, improve
from pinloom.design.problem import DesignProblem
from pinloom.design.sat import Meter
from pinloom.design.search import Found, find
from pinloom.design.told import told
from pinloom.design.watch import CONFLICTS, Watch

PROVED = 250  # key x lock pairs up to which the solver looks for the best
SUMMED = 300  # ... and the largest figure that it adds up
PROVING = 60_000  # conflicts for that
SEEDS, SEEDS_SMALL = 3, 12  # further layouts
SMALL = 5_000  # key x lock pairs up to which there are more of them: they cost little there
USUAL = Preference.FEWEST_MASTER_PINS
QUICK = 400  # steps of a search that may be done again with another seed
# Key x lock pairs up to which it may. On charts of 140,000 to 1,100,000 pairs the best of four had
# at most 0.1 % fewer master pins than the first, for four times the search.
AGAIN = 100_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Refined:
    """A design, the layout that it began with, and the claims about it."""

    bittings: tuple[Bitting, ...]
    layout: Layout | None
    claims: tuple[Claim, ...]


def refine(
    problem: DesignProblem,
    preference: Preference,
    found: Found,
    steps: int,
    watch: Watch,
    seed: int,
    budget: int,
) -> Refined:
    """The best design within reach. ``steps`` = what the search for ``found`` took; ``budget`` =
    steps that refining may take.
    """
    best = _refine(problem, preference, found, steps, watch, seed, budget)
    return _another(problem, preference, best, seed)


def _refine(
    problem: DesignProblem,
    preference: Preference,
    found: Found,
    steps: int,
    watch: Watch,
    seed: int,
    budget: int,
) -> Refined:
    watch.doing("best by preference")
    counted = preference is not Preference.WIDEST_MARGINS
    again = steps <= QUICK and problem.keys * len(problem.locks) <= AGAIN
    starts = [found]
    if counted and found.layout is not None and again:
        starts += _other_layouts(problem, watch, seed)
    found = _best(problem, preference, starts)
    small = problem.keys * len(problem.locks) <= PROVED
    if not small or (counted and figure(problem, preference, found.bittings) > SUMMED):
        claims = claims_of(problem, preference, found.bittings)
        return Refined(bittings=found.bittings, layout=found.layout, claims=claims)
    meter = Meter(min(PROVING, budget * CONFLICTS), watch)
    best = improve(problem, preference, found.bittings, meter, seed)
    if counted and found.layout is not None:
        same = figure(problem, preference, best.bittings) == figure(
            problem, preference, found.bittings
        )
        if same:
            return Refined(bittings=found.bittings, layout=found.layout, claims=best.claims)
    layout = found.layout if best.bittings == found.bittings else None
    return Refined(bittings=best.bittings, layout=layout, claims=best.claims)


def _other_layouts(problem: DesignProblem, watch: Watch, seed: int) -> list[Found]:
    """A few designs more; all seeds derive from the request's, so the answer repeats."""
    count = SEEDS_SMALL if problem.keys * len(problem.locks) <= SMALL else SEEDS
    found = (
        find(problem, Meter(QUICK * CONFLICTS), watch, seed * 1_000 + number)
        for number in range(1, count + 1)
    )
    return [other for other in found if other.bittings and other.layout is not None]


def _best(problem: DesignProblem, preference: Preference, starts: list[Found]) -> Found:
    """The best of the starts, each polished before it is compared. What the usual preference makes
    of them is among them, so that no other one loses to it by its own measure.
    """
    ends = [_polished(problem, preference, start) for start in starts]
    if preference not in (USUAL, Preference.WIDEST_MARGINS):
        usual = [_polished(problem, USUAL, start) for start in starts]
        ends += [_polished(problem, preference, start) for start in usual]
    if len(ends) == 1:
        return ends[0]
    return min(ends, key=lambda end: figure(problem, preference, end.bittings))


def _another(problem: DesignProblem, preference: Preference, best: Refined, seed: int) -> Refined:
    """The design of the seed."""
    if seed == 0:
        return best
    sizes = preference is Preference.FEWEST_PIN_SIZES
    bittings = another(
        problem,
        best.bittings,
        told(best.layout, problem, best.bittings),
        seed,
        partial(figure, problem, preference) if sizes else None,
    )
    return replace(best, bittings=bittings)


def _polished(problem: DesignProblem, preference: Preference, found: Found) -> Found:
    if not is_polished(problem, preference):
        return found
    movable = None if found.layout is None else infer_tree(problem).others
    bittings = polish(problem, preference, found.bittings, movable)
    if bittings == found.bittings or Checker(problem).wrong(bittings):
        return found
    return replace(found, bittings=bittings)
