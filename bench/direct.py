"""The plain way to a key system: everything written out as clauses, one call of the solver.

One variable for every key, position and depth; the levels of a lock follow from its keys; for every
pair that shall not open, one variable a position that may claim "here the key is kept out". No
structure, no symmetry, no symbols. Rules of a single key other than MACS, and the limit of master
pins in a chamber, are left out, which only makes it easier. Run as a process of its own:

    python -m bench.direct CHART SEED FORMAT

prints one JSON object: size (clauses), seconds of writing and of solving, verdict, and how many
wrong openings a plain recount finds in its answer.
"""

import json
import sys
from collections.abc import Sequence
from itertools import combinations, pairwise
from time import perf_counter

from pysat.solvers import Solver

from bench.engine_charts import chart_of
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.hardware import load_format

SOLVER = "cadical195"  # the one the engine uses


class Direct:
    """The formula of a chart on a format."""

    def __init__(self, chart: AccessChart, made: HardwareFormat) -> None:
        self._chart, self._made = chart, made
        self._solver = Solver(name=SOLVER)
        self._top = 0
        self.clauses = 0
        self.has = [self._grid() for _ in chart.keys]
        for grid in self.has:
            self._key(grid)
        for row in chart.openers:
            self._lock(row)

    def solve(self) -> list[list[int]] | None:
        """Levels of every key, or None when there is no design."""
        if not self._solver.solve():
            return None
        model = self._solver.get_model()
        return [
            [next(v for v, x in enumerate(row) if model[x - 1] > 0) for row in grid]
            for grid in self.has
        ]

    def _grid(self) -> list[list[int]]:
        """Variables by position and level."""
        levels, start = self._made.levels, self._top
        self._top += self._made.chambers * levels
        return [
            [start + p * levels + v + 1 for v in range(levels)] for p in range(self._made.chambers)
        ]

    def _add(self, *literals: int) -> None:
        self.clauses += 1
        self._solver.add_clause(literals)

    def _key(self, grid: list[list[int]]) -> None:
        for row in grid:
            self._add(*row)
            for a, b in combinations(row, 2):
                self._add(-a, -b)
        for left, right in pairwise(grid):
            for v, a in enumerate(left):
                for u, b in enumerate(right):
                    if abs(u - v) > self._made.macs:
                        self._add(-a, -b)

    def _lock(self, openers: Sequence[int]) -> None:
        made = self._made
        level, passed = self._grid(), self._grid()
        for p, row in enumerate(level):
            for v, x in enumerate(row):
                for key in openers:
                    self._add(-self.has[key][p][v], x)
                for u in range(made.levels):
                    if abs(u - v) < made.least_step:
                        self._add(-x, passed[p][u])
                    if u > v and u - v not in made.master_pins and u == v + 1:
                        self._add(-x, -row[u])
        mine = set(openers)
        for key in range(len(self.has)):
            if key not in mine:
                self._keep_out(self.has[key], passed)

    def _keep_out(self, grid: list[list[int]], passed: list[list[int]]) -> None:
        claims = list(range(self._top + 1, self._top + 1 + len(grid)))
        self._top += len(grid)
        self._add(*claims)
        for claim, row, through in zip(claims, grid, passed, strict=True):
            for x, y in zip(row, through, strict=True):
                self._add(-claim, -x, -y)


def recount(chart: AccessChart, made: HardwareFormat, cuts: list[list[int]]) -> int:
    """Pairs that open and shall not, counted one by one."""
    wrong = 0
    for row in chart.openers:
        used = [{cuts[k][p] for k in row} for p in range(made.chambers)]
        mine = set(row)
        for key, word in enumerate(cuts):
            wrong += key not in mine and all(
                any(abs(v - u) < made.least_step for u in used[p]) for p, v in enumerate(word)
            )
    return wrong


def main(arguments: Sequence[str]) -> None:
    """Write, solve, recount, tell."""
    name, seed, hardware = arguments
    chart, made = chart_of(name, int(seed)), load_format(hardware).format
    assert made is not None
    start = perf_counter()
    formula = Direct(chart, made)
    written = perf_counter()
    cuts = formula.solve()
    solved = perf_counter()
    told = {
        "size": formula.clauses,
        "writing_s": round(written - start, 2),
        "solving_s": round(solved - written, 2),
        "verdict": "impossible" if cuts is None else "designed",
        "wrong": 0 if cuts is None else recount(chart, made, cuts),
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main(sys.argv[1:])
