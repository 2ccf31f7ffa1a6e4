"""The plain ways alone, with long limits: what the engine's figures are compared with.

Each chart goes to the plain SAT encoding and, where it is installed, to the constraint program, up
to the limits of ``engine_cases`` in processor seconds. These figures do not depend on our engine,
so they are measured rarely: a run takes an hour on an idle machine. `./dev setup second-opinion`
installs what the constraint program needs.
"""

import tempfile
from collections.abc import Sequence
from pathlib import Path

from bench.engine_cases import CASES, Case, chosen
from bench.kit import Record, keep_some
from bench.plain_ways import WAYS, plain
from bench.processes import surroundings

FAMILY = "engine_plain"
ONLY_WHEN_NAMED = True


def run(out_dir: Path, quick: bool, only: Sequence[str] = ()) -> None:
    """Measure every chart that has a long limit; figures are kept after each."""
    asked = chosen([case for case in CASES if case.long], only)
    with tempfile.TemporaryDirectory() as bytecode:
        env = surroundings(Path(bytecode))
        for way in WAYS:
            _measure(asked[0], way, 2, env)  # compiles
        for case in asked[:1] if quick else asked:
            for way, limit in (("direct", case.long), ("cpsat", case.second)):
                record = _measure(case, way, limit, env) if limit else None
                if record is not None and record[way] != "not installed":
                    print("  ".join(f"{k}={v}" for k, v in record.items()), flush=True)
                    keep_some(out_dir, FAMILY, [record], quick=quick)


def _measure(case: Case, way: str, limit: int, env: dict[str, str]) -> Record:
    with tempfile.TemporaryDirectory() as name:
        figures = plain(way, case, limit, Path(name), env)
    return {
        "chart": case.chart,
        "hardware": case.hardware,
        "form": case.form,
        "seed": 0,
        "way": way,
        "limit": limit,
        **figures,
    }
