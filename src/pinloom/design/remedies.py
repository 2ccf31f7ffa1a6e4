"""What would make it possible: single changes, each tried by a search of the whole changed problem.

Cheapest first: one mark less, a door left outside a master, one master pin more, a door with a key
of its own, a second keyway for one door, the middle masters given up, one chamber more, another
format. Only changes for which a design was found are told.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from pinloom.core.request import DesignRequest, Remedy
from pinloom.design.bounds import refuse
from pinloom.design.given import refuse_given
from pinloom.design.naming import Names
from pinloom.design.parts import (
    part_of,
    with_chamber_more,
    with_own_keyway,
    with_pin_more,
    without_lock,
    without_mark,
)
from pinloom.design.problem import DesignProblem, from_request
from pinloom.design.sat import Meter, Verdict
from pinloom.design.search import find_any
from pinloom.design.watch import CONFLICTS, Watch

EACH = 400  # steps for one try, and one for every key
TOTAL = 2_000  # steps for all tries
TOTAL_KEYS = 6  # ... and so many for every key
SMALL, TOTAL_SMALL = 8, 12_000  # keys of a job up to which all tries are made: some two seconds
TOLD = 2  # remedies told of one kind
FEW, WIDE = 14, 40  # keys of a conflict up to which single marks, single doors are worth trying
TRIES = {  # kinds, cheapest first, and how many changes of each are tried
    "remedy-drop-mark": 20,
    "remedy-leave-outside-master": 10,
    "remedy-one-more-master-pin": 1,
    "remedy-single-key-door": 10,
    "remedy-second-keyway": 6,
    "remedy-without-middle-masters": 1,
    "remedy-one-more-chamber": 1,
    "remedy-another-format": 4,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change, what to call it, and how to make the changed problem: most are never tried."""

    code: str
    values: tuple[tuple[str, str], ...]
    problem: Callable[[], DesignProblem]


def remedies(
    request: DesignRequest,
    problem: DesignProblem,
    keys: tuple[int, ...],
    locks: tuple[int, ...],
    watch: Watch,
) -> tuple[Remedy, ...]:
    """Changes around these keys and locks, or of the whole job, that were seen to work."""
    names = Names(request, problem)
    changes: list[Change] = []
    if len(keys) <= FEW:
        changes += _marks(problem, names, keys, locks)
    if len(keys) <= WIDE:
        changes += _doors(problem, names, locks)
    changes += [*_whole(problem), *_masters(problem, names), *_formats(request)]
    search = _Tries(request.seed, problem.keys, watch)
    for number in range(max(TRIES.values())):
        for kind, tries in TRIES.items():
            of_kind = [c for c in changes if c.code == kind][:tries]
            if number < len(of_kind):
                search.look(of_kind[number])
    return tuple(
        Remedy(change=change.code, values=change.values, verified=True)
        for kind in TRIES
        for change in search.found
        if change.code == kind
    )


class _Tries:
    """Searches of changed problems within one budget; kinds take turns so that each has its try."""

    def __init__(self, seed: int, keys: int, watch: Watch) -> None:
        self.found: list[Change] = []
        total = TOTAL_SMALL if keys <= SMALL else TOTAL
        self._meter = Meter((total + TOTAL_KEYS * keys) * CONFLICTS)
        self._seed, self._watch = seed, watch

    def look(self, change: Change) -> None:
        """Keep a change for which a design is found, unless enough of its kind are known."""
        if sum(c.code == change.code for c in self.found) >= TOLD:
            return
        problem = change.problem()
        part = self._meter.part((EACH + problem.keys) * CONFLICTS)
        if part.left <= 0 or refuse_given(problem) is not None or refuse(problem) is not None:
            return
        self._watch.doing("trying what would help")
        if find_any(problem, part, self._watch, self._seed).verdict is Verdict.SAT:
            self.found.append(change)
        self._meter.take(part.spent)


def _marks(
    problem: DesignProblem, names: Names, keys: tuple[int, ...], locks: tuple[int, ...]
) -> Iterator[Change]:
    """One mark less. Where the key is a master of many doors, the door is left outside it."""
    inside = set(keys)
    counts = [0] * problem.keys
    for lock in problem.locks:
        for key in lock.openers:
            counts[key] += 1
    for number in locks:
        lock = problem.locks[number]
        if not lock.doors:
            continue
        for key in lock.openers:
            if key not in inside:
                continue
            outside = counts[key] > 2 and counts[key] == max(counts[k] for k in lock.openers)
            yield Change(
                code="remedy-leave-outside-master" if outside else "remedy-drop-mark",
                values=(("key", names.key(key)), ("door", names.list_doors((number,)))),
                problem=partial(without_mark, problem, key, number),
            )


def _doors(problem: DesignProblem, names: Names, locks: tuple[int, ...]) -> Iterator[Change]:
    for number in locks:
        if not problem.locks[number].doors:
            continue
        values = (("door", names.list_doors((number,))),)
        yield Change(
            code="remedy-single-key-door",
            values=values,
            problem=partial(without_lock, problem, number),
        )
        yield Change(
            code="remedy-second-keyway",
            values=values,
            problem=partial(with_own_keyway, problem, number),
        )


def _whole(problem: DesignProblem) -> Iterator[Change]:
    pinned = with_pin_more(problem)
    if pinned.splits_most > problem.splits_most:
        yield Change(
            code="remedy-one-more-master-pin",
            values=(("most", str(pinned.max_masters)),),
            problem=lambda: pinned,
        )
    if not problem.controls:
        yield Change(
            code="remedy-one-more-chamber",
            values=(("chambers", str(problem.positions + 1)),),
            problem=partial(with_chamber_more, problem),
        )


def _masters(problem: DesignProblem, names: Names) -> Iterator[Change]:
    """Middle masters given up: keys whose locks all lie under another key and that have keys under
    them, all together.
    """
    own: list[set[int]] = [set() for _ in range(problem.keys)]
    for number, lock in enumerate(problem.locks):
        for key in lock.openers:
            own[key].add(number)
    middle = [
        key
        for key in range(problem.chart_keys)
        if len(own[key]) > 1
        and _inside_another(problem, own, key)
        and _has_keys_below(problem, own, key)
    ]
    if middle:
        rest = [key for key in range(problem.keys) if key not in set(middle)]
        yield Change(
            code="remedy-without-middle-masters",
            values=(
                ("masters", "master" if len(middle) == 1 else "masters"),
                ("keys", names.list_keys(tuple(middle))),
            ),
            problem=lambda: part_of(problem, rest, range(len(problem.locks))).problem,
        )


def _inside_another(problem: DesignProblem, own: list[set[int]], key: int) -> bool:
    shared = set.intersection(*(set(problem.locks[n].openers) for n in own[key])) - {key}
    return any(len(own[other]) > len(own[key]) for other in shared)


def _has_keys_below(problem: DesignProblem, own: list[set[int]], key: int) -> bool:
    beside = {k for n in own[key] for k in problem.locks[n].openers} - {key}
    return any(own[k] < own[key] for k in beside)


def _formats(request: DesignRequest) -> Iterator[Change]:
    """The same chart on other formats that the caller names; only where all cylinders are alike and
    no cuts are given.
    """
    kinds = {id(made): made for made in request.cylinder_formats}
    if any(cuts is not None for cuts in request.fixed) or len(set(kinds.values())) > 1:
        return
    for other in request.alternatives:
        changed = replace(
            request,
            key_format=other,
            cylinder_formats=(other,) * len(request.chart.doors),
            avoid=(),
            avoid_stacks=(),
            control=(),
            master_pin_sizes=None,
        )
        yield Change(
            code="remedy-another-format",
            values=(("format", other.name),),
            problem=partial(from_request, changed),
        )
