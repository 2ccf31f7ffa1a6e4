"""The same kinds of charts on many seeds: how often a design is found, and how long it takes.

Whole processes of `pinloom design`, measured as ``bench_engine`` does, without the plain ways. Runs
for about five minutes, so only when it is named:

    ./dev bench engine_seeds
    python -m bench.bench_engine_seeds FIGURES

The second line prints the figures that were kept as a table.
"""

import sys
import tempfile
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path
from statistics import median

from bench.bench_engine import measure
from bench.engine_cases import CORE_ONE_STEP, TWO_STEP, Case
from bench.kit import Record, keep, kept
from bench.processes import surroundings

ONLY_WHEN_NAMED = True
UNEVEN = tuple(f"{kind}{number}" for kind in "UV" for number in (1, 2, 3))


def _case(chart: str, seeds: int, reach: float, hardware: str = TWO_STEP) -> Case:
    return Case(
        family="seeds", chart=chart, told=chart, hardware=hardware, seeds=seeds, reach=reach
    )


CASES = (
    _case("F3", 20, 2),
    _case("F4", 20, 3),
    _case("F4", 20, 3, CORE_ONE_STEP),
    *(_case(chart, 5, 5) for chart in UNEVEN),
    _case("R3", 4, 15),
    _case("D20", 5, 1),
    _case("D30", 5, 1),
    _case("D60", 5, 5),
)


def run(out_dir: Path, quick: bool) -> None:
    """Measure every seed and keep the figures after each chart."""
    records: list[Record] = []
    with tempfile.TemporaryDirectory() as bytecode:
        env = surroundings(Path(bytecode))
        measure(_case("F1", 1, 1), 0, env)  # compiles
        for case in CASES[-3:] if quick else CASES:
            found = [measure(case, seed, env) for seed in range(1 if quick else case.seeds)]
            records += found
            print(table(found).splitlines()[-1], flush=True)
            keep(out_dir, "engine_seeds", records, quick=quick)


def table(records: Sequence[Record]) -> str:
    """One row a chart: how many were designed and in time, median and worst."""
    lines = [
        "| chart | format | designed | seconds, median / worst | processor s | reach s | in time |",
        "|---|---|---|---|---|---|---|",
    ]
    for (chart, hardware), found in groupby(records, lambda r: (r["chart"], r["hardware"])):
        seeds = list(found)
        designed = [r for r in seeds if r["verdict"] == "designed"]
        in_time = [r for r in designed if _number(r, "seconds") <= _number(r, "reach_s")]
        spans = [
            f"{median(numbers):.2f} / {max(numbers):.2f}"
            for numbers in (
                [_number(r, what) for r in seeds] for what in ("seconds", "processor_s")
            )
        ]
        lines.append(
            f"| {chart} | `{hardware}` | {len(designed)} of {len(seeds)} | {spans[0]} | {spans[1]} "
            f"| {_number(seeds[0], 'reach_s'):g} | {len(in_time)} of {len(seeds)} |"
        )
    return "\n".join(lines)


def _number(record: Record, name: str) -> float:
    value = record[name]
    assert isinstance(value, int | float)
    return value


if __name__ == "__main__":
    print(table(kept(Path(sys.argv[1]))))
