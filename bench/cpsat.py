"""The plain way to a key system, as a constraint program: the same problem as in ``direct``.

One integer for every key and chamber, its depth; one Boolean for every lock, chamber and depth that
the lock lets pass; for every pair that shall not open, one Boolean a chamber that may claim "here
the key is kept out". Depths are tied to Booleans (key, chamber, depth), on which the rest is
written, as the solver would do by itself. No structure, no symmetry, no hints. The same rules are
left out as in ``direct``, and the same recount judges the answer. Run as a process of its own:

    python -m bench.cpsat CHART SEED FORMAT

OR-tools is an extra of its own (`./dev setup second-opinion`), never part of the default set-up.
"""

import json
import sys
from collections.abc import Sequence
from itertools import pairwise
from time import perf_counter

from ortools.sat.python import cp_model

from bench.direct import recount
from bench.engine_charts import chart_of
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.hardware import load_format

WORKERS = 8  # its portfolio needs them all, even on two cores

Row = list[cp_model.IntVar]


class ConstraintProgram:
    """The model of a chart on a format."""

    def __init__(self, chart: AccessChart, made: HardwareFormat) -> None:
        self._made = made
        self._model = cp_model.CpModel()
        self.depths: list[Row] = []
        self._has: list[list[Row]] = []
        for _ in chart.keys:
            self._key()
        for row in chart.openers:
            self._lock(row)

    @property
    def size(self) -> int:
        """How many constraints were written."""
        return len(self._model.proto.constraints)

    def solve(self) -> tuple[str, list[list[int]] | None]:
        """The verdict, and the levels of every key where there is a design."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = WORKERS
        status = solver.solve(self._model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return "designed", [[solver.value(d) for d in row] for row in self.depths]
        return ("impossible" if status == cp_model.INFEASIBLE else "no answer"), None

    def _booleans(self) -> list[Row]:
        """Booleans by chamber and level."""
        made = self._made
        return [
            [self._model.new_bool_var("") for _ in range(made.levels)] for _ in range(made.chambers)
        ]

    def _key(self) -> None:
        made, model = self._made, self._model
        depths = [model.new_int_var(0, made.levels - 1, "") for _ in range(made.chambers)]
        has = self._booleans()
        for depth, row in zip(depths, has, strict=True):
            model.add_exactly_one(row)
            model.add(depth == sum(v * x for v, x in enumerate(row)))
        if made.macs < made.levels - 1:
            for left, right in pairwise(depths):
                model.add_linear_constraint(left - right, -made.macs, made.macs)
        self.depths.append(depths)
        self._has.append(has)

    def _lock(self, openers: Sequence[int]) -> None:
        made, model = self._made, self._model
        level, passed = self._booleans(), self._booleans()
        for p, row in enumerate(level):
            for v, x in enumerate(row):
                for key in openers:
                    model.add_implication(self._has[key][p][v], x)
                for u in range(made.levels):
                    if abs(u - v) < made.least_step:
                        model.add_implication(x, passed[p][u])
                    if u == v + 1 and 1 not in made.master_pins:
                        model.add_implication(x, ~row[u])
        mine = set(openers)
        for key, has in enumerate(self._has):
            if key not in mine:
                self._keep_out(has, passed)

    def _keep_out(self, has: list[Row], passed: list[Row]) -> None:
        claims = [self._model.new_bool_var("") for _ in has]
        self._model.add_bool_or(claims)
        for claim, row, through in zip(claims, has, passed, strict=True):
            for x, y in zip(row, through, strict=True):
                self._model.add_bool_or(~claim, ~x, ~y)


def main(arguments: Sequence[str]) -> None:
    """Write, solve, recount, tell."""
    name, seed, hardware = arguments
    chart, made = chart_of(name, int(seed)), load_format(hardware).format
    assert made is not None
    start = perf_counter()
    program = ConstraintProgram(chart, made)
    written = perf_counter()
    verdict, cuts = program.solve()
    solved = perf_counter()
    told = {
        "size": program.size,
        "writing_s": round(written - start, 2),
        "solving_s": round(solved - written, 2),
        "verdict": verdict,
        "wrong": 0 if cuts is None else recount(chart, made, cuts),
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main(sys.argv[1:])
