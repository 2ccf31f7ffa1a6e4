"""The design engine, from a chart file to proved files, against a plain SAT encoding.

Every case is a process of its own that runs `pinloom design`. Seconds are wall clock of the whole
process; processor seconds stand beside them, since a busy machine stretches the former. The same
chart then goes to ``direct`` on the same solver, with a limit of seconds and of clauses; where it
reaches the limit, the ratio is a lower bound. A verdict counts only with its exit code: `designed`
is exit 0, proved and written.

Modules are compiled to bytecode once, before the first case, as they are where the program is
installed; the environment may have forbidden that.

The picture is drawn from the figures that were kept:

    python -m bench.bench_engine FIGURES PICTURE
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bench.kit import Record, keep

ROOT = Path(__file__).parents[1]
VERDICTS = {0: "designed", 3: "impossible", 4: "gave up"}
MOST_CLAUSES = 12_000_000  # a plain formula beyond this takes gigabytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One row of the table: ``reach`` = seconds asked for, ``limit`` = seconds until it is ended.
    ``direct`` = seconds given to the plain encoding, for the first seed; 0 = not asked.
    """

    chart: str
    hardware: str = "us-6x10-015"
    seeds: int = 1
    reach: float
    limit: float = 60
    direct: float = 0
    schedule: bool = False


CASES = (
    Case(chart="F1", reach=1, direct=60),
    Case(chart="F2", reach=1),
    Case(chart="F1", hardware="us-6x6-023", reach=1),
    Case(chart="F2", hardware="us-6x6-023", reach=1),
    Case(chart="F3", seeds=3, reach=2, direct=60),
    Case(chart="F4", seeds=3, reach=3, direct=60),
    Case(chart="F4", hardware="ic-7x7-018", seeds=2, reach=3),
    Case(chart="R3", seeds=2, reach=15, limit=90),
    Case(chart="F5", hardware="ic-7x10-0125", reach=3, limit=120, schedule=True),
    Case(chart="T20", hardware="ic-7x7-018", reach=10, limit=120, schedule=True),
    *(Case(chart=f"{kind}{n}", reach=5) for kind in "UV" for n in (1, 2, 3)),
    Case(chart="D20", seeds=2, reach=1, direct=30),
    Case(chart="D30", seeds=2, reach=1, direct=30),
    Case(chart="D60", seeds=2, reach=5, direct=30),
    Case(chart="D24", reach=60, limit=90, direct=30),
    Case(chart="N6600", reach=1, schedule=True),
    Case(chart="C25", reach=1, direct=30),
    Case(chart="F6", hardware="ic-7x10-0125", reach=120, limit=180),
)
QUICK = (
    Case(chart="F1", reach=1),
    Case(chart="D20", reach=1, direct=20),
    Case(chart="C25", reach=1, direct=2),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """How a process ended; ``code`` is None when it was ended at its limit."""

    code: int | None
    seconds: float
    processor: float
    megabytes: int
    said: str


def surroundings(bytecode: Path) -> dict[str, str]:
    """The environment of a case: this one, with bytecode kept in a folder of its own."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    road = os.pathsep.join(filter(None, (str(ROOT), kept.get("PYTHONPATH", ""))))
    return {**kept, "PYTHONPATH": road, "PYTHONPYCACHEPREFIX": str(bytecode)}


def process(arguments: Sequence[str], folder: Path, limit: float, env: dict[str, str]) -> Ended:
    """Run a process and take its own time and memory, not those of its brothers."""
    start = time.perf_counter()
    with (folder / "said").open("w+", encoding="utf-8") as said:
        child = subprocess.Popen(
            [sys.executable, *arguments],
            cwd=folder,
            stdout=said,
            stderr=subprocess.DEVNULL,
            env=env,
        )
        ended = False
        while True:
            done, status, used = os.wait4(child.pid, os.WNOHANG)
            if done:
                break
            if not ended and time.perf_counter() - start > limit:
                child.kill()
                ended = True
            time.sleep(0.01)
        child.returncode = os.waitstatus_to_exitcode(status)
        seconds = time.perf_counter() - start
        said.seek(0)
        return Ended(
            code=None if ended else child.returncode,
            seconds=round(seconds, 2),
            processor=round(used.ru_utime + used.ru_stime, 2),
            megabytes=used.ru_maxrss // 1024,
            said=said.read(),
        )


def run(out_dir: Path, quick: bool) -> None:
    """Measure every case and keep the figures after each, so that what is measured is not lost."""
    records: list[Record] = []
    with tempfile.TemporaryDirectory() as bytecode:
        env = surroundings(Path(bytecode))
        measure(QUICK[0], 0, env)  # compiles
        for case in QUICK if quick else CASES:
            for seed in range(case.seeds):
                records.append(measure(case, seed, env))
                told = "  ".join(f"{k}={v}" for k, v in records[-1].items() if v is not None)
                print(told, flush=True)
                keep(out_dir, "engine", records, quick=quick)


def measure(case: Case, seed: int, env: dict[str, str]) -> Record:
    """One chart through the command, and through the plain encoding where that is asked."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sizes = _write(case, seed, folder, env)
        files = ["chart.csv", *(["--keys", "keys.csv"] if case.schedule else [])]
        order = ["design", *files, "--hardware", case.hardware, "--out", "job", "--json"]
        done = process(["-m", "bench.engine_child", "notes", *order], folder, case.limit, env)
        notes = folder / "notes"
        told = json.loads(notes.read_text(encoding="utf-8")) if notes.exists() else {}
        record: dict[str, str | int | float | bool | None] = {
            "chart": case.chart,
            "seed": seed,
            "hardware": case.hardware,
            "doors": sizes["doors"],
            "keys": sizes["keys"],
            "verdict": _verdict(done),
            "seconds": done.seconds,
            "processor_s": done.processor,
            "reach_s": case.reach,
            "megabytes": done.megabytes,
            **told,
        }
        if case.direct and not seed:
            record |= _direct(case, sizes["clauses"], folder, done, env)
    return record


def _verdict(done: Ended) -> str:
    if done.code is None:
        return "ended at the limit"
    return VERDICTS.get(done.code, f"exit {done.code}")


def _write(case: Case, seed: int, folder: Path, env: dict[str, str]) -> dict[str, int]:
    form = "schedule" if case.schedule else "matrix"
    order = ["-m", "bench.engine_charts", case.chart, str(seed), case.hardware, form]
    done = process(order, folder, 300, env)
    if done.code != 0:
        raise RuntimeError(f"the chart {case.chart} was not written")
    sizes: dict[str, int] = json.loads(done.said)
    return sizes


def _direct(
    case: Case, clauses: int, folder: Path, ours: Ended, env: dict[str, str]
) -> dict[str, str | int | float | bool | None]:
    if clauses > MOST_CLAUSES:
        return {"direct": f"not tried: {clauses} clauses"}
    arguments = ["-m", "bench.direct", case.chart, "0", case.hardware]
    done = process(arguments, folder, case.direct, env)
    told = json.loads(done.said) if done.code == 0 else {}
    fair = ours.code in (0, 3)
    return {
        "direct": told.get("verdict", "ended at the limit"),
        "direct_wrong": told.get("wrong"),
        "direct_s": done.seconds,
        "direct_processor_s": done.processor,
        "direct_megabytes": done.megabytes,
        "ratio": round(done.seconds / ours.seconds, 1) if fair else None,
        "ratio_is_a_lower_bound": done.code is None if fair else None,
    }


def draw(figures: Path, picture: Path) -> None:
    """Size against time, the engine's cases and the plain encoding's, both axes logarithmic."""
    import matplotlib as mpl

    mpl.use("Agg")
    from matplotlib import pyplot as plt

    records = json.loads(figures.read_text(encoding="utf-8"))["records"]
    shown, axes = plt.subplots(figsize=(8, 5))
    series = {
        "designed": ("o", "black"),
        "impossible": ("s", "black"),
        "not finished": ("x", "firebrick"),
    }
    for label, (marker, colour) in series.items():
        some = [
            r
            for r in records
            if (r["verdict"] if r["verdict"] in series else "not finished") == label
        ]
        if some:
            axes.scatter(
                [r["doors"] for r in some],
                [r["seconds"] for r in some],
                marker=marker,
                color=colour,
                label=f"pinloom: {label}",
            )
    plain = [r for r in records if "direct_s" in r]
    for ended, label in ((False, "plain encoding"), (True, "plain encoding, ended at its limit")):
        some = [r for r in plain if (r["direct"] == "ended at the limit") is ended]
        if some:
            axes.scatter(
                [r["doors"] for r in some],
                [r["direct_s"] for r in some],
                marker="^",
                facecolors="none" if ended else "steelblue",
                edgecolors="steelblue",
                label=label,
            )
    axes.set(xscale="log", yscale="log", xlabel="doors", ylabel="seconds of the whole process")
    axes.grid(visible=True, which="major", alpha=0.3)
    axes.legend(fontsize="small")
    shown.tight_layout()
    shown.savefig(picture, dpi=110, metadata={"Software": None})


if __name__ == "__main__":
    draw(Path(sys.argv[1]), Path(sys.argv[2]))
