"""A second, plain encoding of tiny tasks for a SAT solver, to check what the engine says is
impossible.

One variable for every key and word. A lock's levels follow from its keys' words; a refused key with
word w needs a position where none of the lock's levels is near w. Everything is written out at
once, nothing is ordered, nothing is left out.
"""

from itertools import combinations, product

from pysat.solvers import Solver

from tests.oracle.brute import Tiny, TinyLock, Word, words_of


class _Plain:
    def __init__(self, task: Tiny) -> None:
        self.task = task
        self.top = 0
        self.clauses: list[list[int]] = []
        self.options = [words_of(task, k) for k in range(task.keys)]
        self.has = [{word: self._var() for word in words} for words in self.options]
        for table in self.has:
            self.clauses.append(list(table.values()))
            self.clauses += [[-a, -b] for a, b in combinations(table.values(), 2)]
        for a, b in combinations(range(task.keys), 2):
            shared = self.has[a].keys() & self.has[b].keys()
            self.clauses += [[-self.has[a][w], -self.has[b][w]] for w in shared]
        for lock in task.locks:
            self._lock(lock)

    def _var(self) -> int:
        self.top += 1
        return self.top

    def _lock(self, lock: TinyLock) -> None:
        task = self.task
        if set(lock.openers) & lock.outside:
            self.clauses.append([])
        if not lock.openers:
            return
        level = {(p, v): self._var() for p in lock.active for v in range(task.levels)}
        for (p, v), var in level.items():
            uses = [
                self.has[k][word] for k in lock.openers for word in self.options[k] if word[p] == v
            ]
            self.clauses.append([-var, *uses])
            self.clauses += [[-use, var] for use in uses]
        for p in lock.active:
            self._pins([level[p, v] for v in range(task.levels)])
        for key in range(task.keys):
            if key in lock.openers or key in lock.outside:
                continue
            for word in self.options[key]:
                ways = []
                for p in lock.active:
                    clear = self._var()
                    ways.append(clear)
                    self.clauses += [
                        [-clear, -level[p, v]]
                        for v in range(task.levels)
                        if abs(v - word[p]) < task.least_step
                    ]
                self.clauses.append([-self.has[key][word], *ways])

    def _pins(self, row: list[int]) -> None:
        task = self.task
        for some in combinations(row, task.most_masters + 2):
            self.clauses.append([-x for x in some])
        for low, high in product(range(task.levels), repeat=2):
            if low < high and high - low not in task.pins:
                self.clauses.append([-row[low], -row[high], *row[low + 1 : high]])


def solve_plain(task: Tiny) -> list[Word] | None:
    """A design or None, by the plain encoding."""
    plain = _Plain(task)
    if any(not clause for clause in plain.clauses):
        return None
    with Solver(name="minisat22", bootstrap_with=plain.clauses) as solver:
        if not solver.solve():
            return None
        model = set(solver.get_model())
    return [next(word for word, var in table.items() if var in model) for table in plain.has]


def part(task: Tiny, keys: list[int], locks: list[int]) -> Tiny:
    """The task with some keys and locks alone."""
    new = {k: i for i, k in enumerate(keys)}
    return Tiny(
        positions=task.positions,
        levels=task.levels,
        macs=task.macs,
        least_step=task.least_step,
        pins=task.pins,
        most_masters=task.most_masters,
        keys=len(keys),
        locks=tuple(
            TinyLock(
                openers=tuple(new[k] for k in task.locks[n].openers if k in new),
                active=task.locks[n].active,
                outside=frozenset(new[k] for k in task.locks[n].outside if k in new),
            )
            for n in locks
        ),
        given=tuple(task.given[k] for k in keys) if task.given else (),
        all_equal_refused=task.all_equal_refused,
    )
