"""The one door to the SAT solver.

The solver holds the interpreter while it runs, so it is only ever asked for a slice: so many
conflicts, then back. Conflicts are counted, never seconds, and every solver used here is
deterministic: same clauses, same slices, same answer. ``pysat`` is imported here and nowhere else.
"""

from collections.abc import Iterable, Sequence
from enum import Enum

SLICE = 2_000  # conflicts between two looks at the world; a few tenths of a second at most


class Verdict(Enum):
    """What a solve said."""

    SAT = "sat"
    UNSAT = "unsat"
    UNKNOWN = "unknown"  # the budget ended first


class Meter:
    """A budget of conflicts shared by several solves, and a sign of life between slices."""

    def __init__(self, conflicts: int, alive: "Alive | None" = None) -> None:
        self.left = conflicts
        self.spent = 0
        self._alive = alive

    def take(self, conflicts: int) -> None:
        """Book conflicts, and let the watcher speak."""
        self.left -= conflicts
        self.spent += conflicts
        if self._alive is not None:
            self._alive.tick(self.spent)

    def part(self, conflicts: int) -> "Meter":
        """A meter of its own with at most so many conflicts; ``take`` back what it spent."""
        return Meter(max(0, min(conflicts, self.left)))


class Alive:
    """Somebody who wants to know that the search still runs."""

    def tick(self, conflicts: int) -> None:
        """Called between slices."""


class Sat:
    """An incremental formula. Literals are signed integers; variables count from 1."""

    def __init__(self, name: str = "cadical195") -> None:
        from pysat.solvers import Solver  # slow to load; most charts are laid out without it

        self._solver = Solver(name=name)
        self._top = 0
        self._model: list[int] = []
        self._conflicts = 0
        self.clauses = 0

    def close(self) -> None:
        """Free the solver's memory."""
        self._solver.delete()

    def __enter__(self) -> "Sat":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def var(self) -> int:
        """A new variable."""
        self._top += 1
        return self._top

    def vars(self, count: int) -> list[int]:
        """New variables in a row."""
        return [self.var() for _ in range(count)]

    def add(self, clause: Sequence[int]) -> None:
        """One clause."""
        self._solver.add_clause(clause)
        self.clauses += 1

    def add_all(self, clauses: Iterable[Sequence[int]]) -> None:
        """Several clauses."""
        for clause in clauses:
            self.add(clause)

    def solve(self, meter: Meter, assumptions: Sequence[int] = ()) -> Verdict:
        """Solve within the meter's conflicts, slice by slice."""
        while meter.left > 0:
            self._solver.conf_budget(min(SLICE, meter.left))
            answer = self._solver.solve_limited(assumptions=list(assumptions))
            total = self._solver.accum_stats()["conflicts"]
            meter.take(max(1, total - self._conflicts))
            self._conflicts = total
            if answer is True:
                self._model = self._solver.get_model()
                return Verdict.SAT
            if answer is False:
                return Verdict.UNSAT
        return Verdict.UNKNOWN

    def lean(self, literals: Sequence[int]) -> None:
        """Values that the solver tries first. A wish, not a clause."""
        self._solver.set_phases(list(literals))

    def true(self, var: int) -> bool:
        """The value of a variable in the last model; variables it leaves open count as false."""
        return var <= len(self._model) and self._model[var - 1] > 0

    def core(self) -> list[int]:
        """Assumptions that the last UNSAT needed."""
        return list(self._solver.get_core() or [])


def exactly_one(sat: Sat, literals: Sequence[int]) -> None:
    """Exactly one of a few literals, pairwise."""
    sat.add(list(literals))
    for i, a in enumerate(literals):
        for b in literals[i + 1 :]:
            sat.add([-a, -b])


def at_most(sat: Sat, literals: Sequence[int], most: int, guard: Sequence[int] = ()) -> None:
    """At most ``most`` of the literals, by a sequential counter; every clause also holds
    ``guard``.
    """
    if most >= len(literals):
        return
    above: list[int] = []  # above[j]: more than j of the literals so far
    for number, literal in enumerate(literals):
        width = min(number + 1, most)
        new = sat.vars(width)
        for j in range(width):
            if j < len(above):
                sat.add([-above[j], new[j]])
            if j == 0:
                sat.add([-literal, new[0]])
            elif j - 1 < len(above):
                sat.add([-literal, -above[j - 1], new[j]])
        if len(above) >= most:
            sat.add([*guard, -literal, -above[most - 1]] if most else [*guard, -literal])
        elif most == 0:
            sat.add([*guard, -literal])
        above = new


class Sum:
    """A weighted sum of literals as a totalizer: ``above(n)`` is a literal that the sum exceeding
    n forces. Only that direction is encoded, which is all a minimum needs.
    """

    def __init__(self, sat: Sat, terms: Sequence[tuple[int, int]], cap: int) -> None:
        """``terms``: (weight > 0, literal). Sums above ``cap`` are all counted as ``cap`` + 1."""
        self._sat = sat
        self._cap = cap
        self._root = self._tree(sorted(terms))

    def above(self, bound: int) -> list[int]:
        """Literals to negate so that the sum stays at or below the bound."""
        return [literal for value, literal in self._root.items() if value > bound]

    def _tree(self, terms: Sequence[tuple[int, int]]) -> dict[int, int]:
        if not terms:
            return {}
        if len(terms) == 1:
            weight, literal = terms[0]
            return {min(weight, self._cap + 1): literal}
        half = len(terms) // 2
        return self._merge(self._tree(terms[:half]), self._tree(terms[half:]))

    def _merge(self, left: dict[int, int], right: dict[int, int]) -> dict[int, int]:
        sums = {min(a, self._cap + 1) for a in left} | {min(b, self._cap + 1) for b in right}
        sums |= {min(a + b, self._cap + 1) for a in left for b in right}
        out = {value: self._sat.var() for value in sorted(sums)}
        for a, x in left.items():
            self._sat.add([-x, out[a]])
        for b, y in right.items():
            self._sat.add([-y, out[b]])
            for a, x in left.items():
                self._sat.add([-x, -y, out[min(a + b, self._cap + 1)]])
        values = sorted(out)
        for low, high in zip(values, values[1:], strict=False):
            self._sat.add([-out[high], out[low]])
        return out
