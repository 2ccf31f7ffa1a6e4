"""The design engine, from a chart file to proved files, against two plain ways to the same.

Every case is a process of its own that runs `pinloom design`. Seconds are wall clock of the whole
process; processor seconds stand beside them, since a busy machine stretches the former. The same
chart then goes to ``direct``, a plain encoding on the same solver, and to ``cpsat``, a constraint
program, where that is installed. Both have a limit of processor seconds and of memory; where one
reaches it, the ratio is a lower bound. Ratios are of processor seconds of whole processes in the
same run. A verdict counts only with its exit code: `designed` is exit 0, proved and written.

Modules are compiled to bytecode once, before the first case, as they are where the program is
installed; the environment may have forbidden that.

    ./dev bench engine                 all cases, 20 to 25 minutes on an idle machine
    ./dev bench engine --quick         four small ones, half a minute
    ./dev bench engine --only F1,F3    some charts; the figures of the others are kept
    ./dev bench engine_plain           the plain ways alone, with long limits

The picture and the tables are made from the figures that were kept, those of ``engine_plain.json``
beside them included; in PAGE the text between its two marks is replaced:

    python -m bench.bench_engine FIGURES PICTURE PAGE
"""

import json
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from bench.engine_cases import CASES, QUICK, Case, chosen
from bench.engine_picture import draw
from bench.engine_table import page_with, table
from bench.kit import Record, keep, keep_some, kept
from bench.plain_ways import WAYS, Figures, plain
from bench.processes import Ended, Limit, process, surroundings

VERDICTS = {0: "designed", 3: "impossible", 4: "gave up"}
SECOND_OPINION = 30  # processor seconds given to the constraint program in this run, at most


def run(out_dir: Path, quick: bool, only: Sequence[str] = ()) -> None:
    """Measure every case and keep the figures after each, so that what is measured is not lost."""
    records: list[Record] = []
    asked = chosen(QUICK if quick else CASES, only)
    with tempfile.TemporaryDirectory() as bytecode:
        env = surroundings(Path(bytecode))
        measure(QUICK[1], 0, env)  # compiles
        for case in asked:
            for seed in range(case.seeds):
                records.append(_infer(case, env) if case.infer else measure(case, seed, env))
                told = "  ".join(f"{k}={v}" for k, v in records[-1].items() if v is not None)
                print(told, flush=True)
                (keep_some if only else keep)(out_dir, "engine", records, quick=quick)


def measure(case: Case, seed: int, env: dict[str, str]) -> Record:
    """One chart through the command, and through the plain ways where that is asked."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sizes = _write(case, seed, folder, env)
        files = ["chart.csv", *(["--keys", "keys.csv"] if case.schedule else [])]
        order = ["design", *files, "--hardware", case.hardware, "--out", "job", "--json"]
        order = ["-m", "bench.engine_child", "notes", *order]
        done = process(order, folder, Limit(seconds=case.limit), env)
        notes = folder / "notes"
        told = json.loads(notes.read_text(encoding="utf-8")) if notes.exists() else {}
        record: Figures = _head(case, seed) | sizes | _ours(done, _verdict(done)) | told
        if case.plain and not seed:
            for way in WAYS:
                limit = case.plain if way == "direct" else min(case.plain, SECOND_OPINION)
                record |= plain(way, case, limit, folder, env)
                record |= ratio(way, record)
        return record


def _infer(case: Case, env: dict[str, str]) -> Record:
    """Only the structure of a tree, from its marks."""
    sizes = {"F7": ["10", "20", "100"]}[case.chart]
    with tempfile.TemporaryDirectory() as name:
        order = ["-m", "bench.engine_infer", *sizes, case.hardware]
        done = process(order, Path(name), Limit(seconds=case.limit), env)
    told = json.loads(done.said) if done.code == 0 else {}
    verdict = _verdict(done) if done.code else ("found" if told["wrong"] == 0 else "wrong")
    return _head(case, 0) | _ours(done, verdict) | told


def _head(case: Case, seed: int) -> Figures:
    return {
        "family": case.family,
        "chart": case.chart,
        "hardware": case.hardware,
        "form": case.form,
        "seed": seed,
        "reach_s": case.reach,
    }


def _ours(done: Ended, verdict: str) -> Figures:
    return {
        "verdict": verdict,
        "seconds": done.seconds,
        "processor_s": done.processor,
        "megabytes": done.megabytes,
    }


def _verdict(done: Ended) -> str:
    if done.code is None:
        return f"ended at {done.limit}"
    return VERDICTS.get(done.code, f"exit {done.code}")


def _write(case: Case, seed: int, folder: Path, env: dict[str, str]) -> Figures:
    order = ["-m", "bench.engine_charts", case.chart, str(seed), case.form]
    done = process(order, folder, Limit(seconds=300), env)
    if done.code != 0:
        raise RuntimeError(f"the chart {case.chart} was not written")
    sizes: Figures = json.loads(done.said)
    return sizes


def ratio(way: str, record: Record) -> Figures:
    """How many times a plain way takes what ours does, by processor seconds and by wall clock;
    nothing without a verdict of ours.
    """
    theirs, ours = record.get(f"{way}_processor_s"), record["processor_s"]
    if record["verdict"] not in ("designed", "impossible") or theirs is None:
        return {}
    assert isinstance(theirs, int | float)
    assert isinstance(ours, int | float)
    wall, our_wall = record[f"{way}_s"], record["seconds"]
    assert isinstance(wall, int | float)
    assert isinstance(our_wall, int | float)
    return {
        f"{way}_ratio": round(theirs / ours, 1),
        f"{way}_wall_ratio": round(wall / our_wall, 1),
    }


def main(arguments: Sequence[str]) -> None:
    """The picture and the table of figures that were kept."""
    figures, picture, page = (Path(name) for name in arguments)
    records = kept(figures)
    long = kept(figures.with_name("engine_plain.json"))
    draw(records, long, picture)
    before = page.read_text(encoding="utf-8") if page.exists() else ""
    page.write_text(page_with(before, table(records, long)), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
