"""Growth of systems that exist: one key with all else frozen, forty doors at once, lost keys.

Whole-command seconds are of a process of its own, from files to files. The search alone is timed on
the loaded job.
"""

import random
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from bench.charts import Sketch, scattered_tree
from bench.kit import Record, keep, timed
from pinloom.chart import write_matrix
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.job import Job
from pinloom.growth.frozen import places
from pinloom.growth.grow import NotGrown, grow
from pinloom.growth.lost import lost
from pinloom.growth.wanted import lay_over, system_of
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.lost import prove_plan

FORMAT = "us-6x10-015"


def system(folder: Path, sketch: Sketch) -> Job:
    """A designed and proved job of a chart, in a folder."""
    write_matrix(sketch.chart(), folder / "chart.csv")
    source = ChartSource(path=folder / "chart.csv")
    made = design_job(DesignOrder(chart=source, hardware=FORMAT, out=folder / "job"))
    if made.job is None or not made.job.proof.proved:
        raise RuntimeError("the system to grow was not designed")
    return made.job


def with_key_over(chart: AccessChart, name: str, doors: list[str]) -> AccessChart:
    """The chart with one more key over some doors."""
    opens = {door: (*keys, name) if door in doors else keys for door, keys in chart.opens().items()}
    return AccessChart.build(chart.doors, (*chart.keys, Key(name=name)), opens)


def with_doors(chart: AccessChart, count: int, rng: random.Random) -> AccessChart:
    """The chart with more doors, each with a key of its own under the masters of some door."""
    size = {key.name: len(doors) for key, doors in zip(chart.keys, chart.doors_of(), strict=True)}
    opens = chart.opens()
    doors, keys = list(chart.doors), list(chart.keys)
    beside = rng.sample([d for d, row in enumerate(chart.openers) if len(row) < 6], count)
    for number, d in enumerate(beside):
        masters = [key for key in opens[chart.doors[d].name] if size[key] >= 30]
        opens[f"new {number}"] = (f"key {number}", *masters)
        doors.append(Door(name=f"new {number}"))
        keys.append(Key(name=f"key {number}"))
    return AccessChart.build(doors, keys, opens)


def run(out_dir: Path, quick: bool) -> None:
    """Measure and keep."""
    records: list[Record] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "large").mkdir()
        (folder / "middle").mkdir()
        large = (3, 4, 30, 20, 0) if quick else (4, 5, 50, 40, 0)
        job = system(folder / "large", scattered_tree(*large, common=False))
        records += _one_key(folder / "large", job, 3 if quick else 10)
        job = system(folder / "middle", scattered_tree(3, 4, 30, 20, 0))
        records.append(_forty(job, 5 if quick else 40))
        records += _lost_keys(job, quick)
    for record in records:
        print("  ".join(f"{key}={value}" for key, value in record.items()))
    keep(out_dir, "growth", records, quick=quick)


def _one_key(folder: Path, job: Job, times: int) -> list[Record]:
    rng = random.Random("one key")
    formats = (job.key_format,) * len(job.chart.doors)
    names = [door.name for door in job.chart.doors]
    searches, fits = [], 0
    wanted = job.chart
    for number in range(times):
        wanted = with_key_over(job.chart, f"extra {number}", rng.sample(names, rng.randint(2, 6)))
        laid = system_of(job, lay_over(job, wanted, formats), formats, frozenset())
        found, seconds = timed(partial(places, laid, laid.cuts.index(None)))
        searches.append(seconds)
        fits += bool(found.count)
    write_matrix(wanted, folder / "wanted.csv")
    command = [sys.executable, "-m", "pinloom", "grow", "job", "wanted.csv", "--out", "grown"]
    done, whole = timed(
        lambda: subprocess.run([*command, "--quiet"], cwd=folder, check=False, capture_output=True)
    )
    return [
        {
            "case": "one key over 2-6 doors, all else frozen",
            "doors": len(job.chart.doors),
            "tried": times,
            "fit": fits,
            "search_s_median": round(sorted(searches)[len(searches) // 2], 3),
            "search_s_worst": round(max(searches), 3),
            "command_s": round(whole, 2),
            "command_exit": done.returncode,
        }
    ]


def _forty(job: Job, count: int) -> Record:
    wanted = with_doors(job.chart, count, random.Random("forty"))
    formats = (job.key_format,) * len(wanted.doors)
    answer, seconds = timed(lambda: grow(job, wanted, formats))
    record: dict[str, str | int | float | bool | None] = {
        "case": f"{count} doors and keys more",
        "doors": len(job.chart.doors),
        "seconds": round(seconds, 2),
        "grown": not isinstance(answer, NotGrown),
    }
    if not isinstance(answer, NotGrown):
        pins = next(c for c in answer.claims if c.measure == "cylinders re-pinned")
        record |= {"repinned": pins.value, "bound": pins.bound, "recut": len(answer.recut)}
    return record


def _lost_keys(job: Job, quick: bool) -> list[Record]:
    """A lost key of each class: the first of the chart with as many doors."""
    sizes = [len(doors) for doors in job.chart.doors_of()]
    top, own = max(sizes), min(sizes)
    area = next((n for n in sorted(set(sizes), reverse=True) if n < top), top)
    group = max((n for n in set(sizes) if n < area), default=area)
    classes = {
        "a lost group master": group,
        "a lost change key": own,
        "a lost cross key": next((n for n in sorted(set(sizes)) if own < n < group), own),
        "a lost area master": area,
        "a lost top master": top,
    }
    chosen = list(classes.items())[: 1 if quick else None]
    return [_lost_key(job, case, sizes.index(size)) for case, size in chosen]


def _lost_key(job: Job, case: str, key: int) -> Record:
    """Processor seconds of the plans and of their proofs, and the cheapest plan with its bounds."""
    began = time.process_time()
    answer = lost(job, job.chart.keys[key].name)
    planned = time.process_time()
    proved = [prove_plan(job, plan, answer.lost_name) for plan in answer.plans]
    ended = time.process_time()
    best = proved[0].plan if proved else None
    figures: Record = (
        {}
        if best is None
        else {
            "cylinders": best.tally.cylinders,
            "cylinders_bound": best.bound.cylinders,
            "keys": len(best.recut),
            "keys_bound": best.bound.keys,
            "minutes": best.minutes,
            "minutes_bound": best.bound.minutes,
            "trips": len(best.stages),
            "states_proved": sum(not state.broken for one in proved for state in one.states),
        }
    )
    return {
        "case": case,
        "doors": len(job.chart.doors),
        "exposed": answer.exposure.tally.cylinders,
        "processor_s": round(planned - began, 2),
        "proving_s": round(ended - planned, 2),
        "plans": len(proved),
        "all_proved": bool(proved) and all(one.proved for one in proved),
        "open": len(answer.open),
        **figures,
    }
