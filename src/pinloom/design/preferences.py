"""Among all designs of a small chart, one that is best by the job's preference, with the proof.

Each preference becomes clauses over the splits of the locks, in one direction only (more splits
force more), which is all a minimum needs. Then the usual descent: find a design, ask for a better
one, until there is none (proved least) or the budget ends (the gap stays open, with a bound from
counting).

Then the look of the keys: the advised key rules, as many as cost nothing of the preferred figure.
A base word drawn from the seed is offered to the solver as what every key would like to be, so
constant chambers carry varied cuts, and another seed gives another design of equal merit.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from pinloom.core.bitting import Bitting
from pinloom.core.job import Claim, ClaimKind, Preference
from pinloom.design import measures
from pinloom.design.encoding import Encoding
from pinloom.design.exact import Exact
from pinloom.design.looks import base_word
from pinloom.design.problem import DesignProblem
from pinloom.design.sat import Meter, Sat, Sum, Verdict

GROOMING = 5_000  # conflicts for each set of advised rules
MOST_SUM = 1_500  # beyond it a sum is not encoded and the figure is only bounded


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """A design and what is known about its preferred figure."""

    bittings: tuple[Bitting, ...]
    claims: tuple[Claim, ...]


def improve(
    problem: DesignProblem,
    preference: Preference,
    start: tuple[Bitting, ...],
    meter: Meter,
    seed: int = 0,
) -> Best:
    """The best design that the meter allows, beginning with one that is right."""
    if preference is Preference.WIDEST_MARGINS:
        return _widest(problem, start, meter, seed)
    with Sat() as sat:
        return _descend(problem, Exact(problem, sat), preference, start, meter, seed)


def figure(problem: DesignProblem, preference: Preference, bittings: tuple[Bitting, ...]) -> int:
    """What a preference counts, lower is better (not for margins)."""
    if preference is Preference.FEWEST_INCIDENTAL_KEYS:
        return measures.combinations(problem, bittings)
    if preference is Preference.FEWEST_PIN_SIZES:
        return measures.pin_kinds(problem, bittings)
    return measures.master_pins(problem, bittings)


def claims_of(
    problem: DesignProblem, preference: Preference, bittings: tuple[Bitting, ...]
) -> tuple[Claim, ...]:
    """What counting alone says about the preferred figure of a design."""
    if preference is Preference.WIDEST_MARGINS:
        return _margin_claims(
            measures.margin(problem, bittings), ClaimKind.BEST_FOUND, ClaimKind.BEST_FOUND
        )
    value = figure(problem, preference, bittings)
    bound = {
        Preference.FEWEST_MASTER_PINS: measures.pins_bound,
        Preference.FEWEST_INCIDENTAL_KEYS: measures.combinations_bound,
        Preference.FEWEST_PIN_SIZES: measures.kinds_bound,
    }[preference](problem)
    kind = ClaimKind.PROVED_LEAST if value <= bound else ClaimKind.BOUNDED
    return (Claim(measure=measures.NAMES[preference], value=value, kind=kind, bound=bound),)


def _descend(
    problem: DesignProblem,
    exact: Exact,
    preference: Preference,
    start: tuple[Bitting, ...],
    meter: Meter,
    seed: int,
) -> Best:
    best, value = start, figure(problem, preference, start)
    terms, offset = _TERMS[preference](exact.encoding)
    claims = claims_of(problem, preference, best)
    if value + offset > MOST_SUM:
        return Best(bittings=best, claims=claims)
    total = Sum(exact.sat, terms, value + offset)
    verdict = Verdict.UNSAT
    while claims[0].kind is not ClaimKind.PROVED_LEAST:
        answer = exact.solve(meter, tuple(-x for x in total.above(value + offset - 1)))
        verdict = answer.verdict
        if verdict is not Verdict.SAT:
            break
        best, value = answer.bittings, figure(problem, preference, answer.bittings)
        claims = claims_of(problem, preference, best)
    if verdict is Verdict.UNSAT:
        claims = (replace(claims[0], kind=ClaimKind.PROVED_LEAST, bound=value),)
    keep = tuple(-x for x in total.above(value + offset))
    return Best(bittings=_groom(exact, keep, best, meter, seed), claims=claims)


def _groom(
    exact: Exact, keep: tuple[int, ...], best: tuple[Bitting, ...], meter: Meter, seed: int
) -> tuple[Bitting, ...]:
    """The same merit with better-looking keys: all advised rules, or as many as go together."""
    word = base_word(exact.problem, seed)
    exact.sat.lean([row[v] for cut in exact.encoding.cut for row, v in zip(cut, word, strict=True)])
    guards = exact.encoding.advise()
    kept: tuple[int, ...] = ()
    for asked in (tuple(guards.values()), *((guard,) for guard in guards.values()), ()):
        if kept and not asked:
            break
        part = meter.part(GROOMING)
        answer = exact.solve(part, (*keep, *kept, *asked))
        meter.take(part.spent)
        if answer.verdict is Verdict.SAT:
            best, kept = answer.bittings, (*kept, *asked)
            if len(kept) == len(guards):
                break
    return best


Terms = tuple[list[tuple[int, int]], int]  # (weight, literal) ..., sum of terms minus figure


def _pin_terms(encoding: Encoding) -> Terms:
    """One for each split beyond the first."""
    terms: list[tuple[int, int]] = []
    offset = 0
    for lock, rows in zip(encoding.problem.locks, encoding.split.values(), strict=True):
        if len(lock.openers) < 2 or not lock.cylinders:
            continue
        offset += lock.cylinders * len(lock.active)
        terms += [(lock.cylinders, split) for p in lock.active for split in rows[p]]
    return terms, offset


def _combination_terms(encoding: Encoding) -> Terms:
    """Per lock the product of its counts, as thresholds built up position by position."""
    terms: list[tuple[int, int]] = []
    offset = 0
    for lock, rows in zip(encoding.problem.locks, encoding.split.values(), strict=True):
        if not lock.openers or not lock.cylinders:
            continue
        offset -= lock.cylinders  # a product is at least one
        if len(lock.openers) < 2:
            continue
        reached: dict[int, int] = {}  # product -> literal that this much is reached
        most = min(encoding.problem.splits_most, len(lock.openers))
        for p in lock.active:
            reached = _multiply(encoding.sat, reached, _at_least(encoding.sat, rows[p], most))
        last = 1
        for value, literal in sorted(reached.items()):
            terms.append((lock.cylinders * (value - last), literal))
            last = value
    return terms, offset


def _at_least(sat: Sat, row: Sequence[int], most: int) -> dict[int, int]:
    """n -> a literal that n or more true ones in the row force, for n = 2 .. most."""
    above: list[int] = []
    for literal in row:
        new = sat.vars(min(len(above) + 1, most))
        for j, x in enumerate(new):
            if j < len(above):
                sat.add([-above[j], x])
            sat.add([-literal, x] if j == 0 else [-literal, -above[j - 1], x])
        above = new
    return {n: above[n - 1] for n in range(2, len(above) + 1)}


def _multiply(sat: Sat, left: dict[int, int], right: dict[int, int]) -> dict[int, int]:
    values = {*left, *right} | {a * b for a in left for b in right}
    out = {value: sat.var() for value in sorted(values)}
    sat.add_all([-x, out[a]] for a, x in left.items())
    sat.add_all([-y, out[b]] for b, y in right.items())
    sat.add_all([-x, -y, out[a * b]] for a, x in left.items() for b, y in right.items())
    ranked = sorted(out)
    sat.add_all([-out[high], out[low]] for low, high in zip(ranked, ranked[1:], strict=False))
    return out


def _kind_terms(encoding: Encoding) -> Terms:
    """One for each bottom pin and each master pin that is in use anywhere."""
    sat, levels = encoding.sat, encoding.problem.levels
    bottoms, masters = sat.vars(levels), sat.vars(levels)  # masters[0] stays idle
    for number, lock in enumerate(encoding.problem.locks):
        if not lock.openers or not lock.cylinders:
            continue
        encoding.only_real(number)
        for p in lock.active:
            row = encoding.split[number][p]
            for v in range(levels):
                sat.add([-row[v], *row[:v], bottoms[v]])
                for w in range(v + 1, levels):
                    sat.add([-row[v], -row[w], *row[v + 1 : w], masters[w - v]])
    return [(1, x) for x in (*bottoms, *masters[1:])], 0


_TERMS: dict[Preference, Callable[[Encoding], Terms]] = {
    Preference.FEWEST_MASTER_PINS: _pin_terms,
    Preference.FEWEST_INCIDENTAL_KEYS: _combination_terms,
    Preference.FEWEST_PIN_SIZES: _kind_terms,
}


def _widest(problem: DesignProblem, start: tuple[Bitting, ...], meter: Meter, seed: int) -> Best:
    """First as many positions as possible that keep every key out, then as many steps."""
    best = start
    kinds = [ClaimKind.BEST_FOUND, ClaimKind.BEST_FOUND]
    for part in (0, 1):
        verdict = Verdict.SAT
        while verdict is Verdict.SAT:
            chambers, steps = measures.margin(problem, best)
            asked = (chambers + 1, problem.least_step) if part == 0 else (chambers, steps + 1)
            if asked[0] > problem.positions or asked[1] >= problem.levels:
                verdict = Verdict.UNSAT
                break
            with Sat() as sat:
                answer = Exact(problem, sat, margin=asked).solve(meter)
            verdict = answer.verdict
            if verdict is Verdict.SAT:
                best = answer.bittings
        if verdict is not Verdict.UNSAT:
            break
        kinds[part] = ClaimKind.PROVED_LEAST
    found = measures.margin(problem, best)
    with Sat() as sat:
        best = _groom(Exact(problem, sat, margin=found), (), best, meter, seed)
    return Best(bittings=best, claims=_margin_claims(found, *kinds))


def _margin_claims(
    margin: tuple[int, int], chambers: ClaimKind, steps: ClaimKind
) -> tuple[Claim, ...]:
    """Of a margin the greatest is meant: ``PROVED_LEAST`` says that none is greater."""
    return (
        Claim(measure=measures.MARGIN_CHAMBERS, value=margin[0], kind=chambers),
        Claim(measure=measures.MARGIN_STEPS, value=margin[1], kind=steps),
    )
