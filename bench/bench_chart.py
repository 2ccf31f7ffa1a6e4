"""Seconds to read large charts: a schedule of 20,000 doors as text and as a workbook, a matrix.

Each door has a change key of its own under three levels of masters. Seconds are of the whole call,
from opening the file to the finished chart with all its checks.
"""

import tempfile
from functools import partial
from pathlib import Path

from bench.kit import Record, keep, repeated
from pinloom.chart import read_chart, write_matrix, write_schedule
from pinloom.core.chart import AccessChart, Door, Key

DOORS = 20_000
SQUARE = 1_000


def tree(doors: int) -> AccessChart:
    """A key a door, a group master for 100 doors, an area master for 1,000, one top master."""
    keys = [Key(name="TOP")]
    opens = {}
    for number in range(doors):
        area, group = f"A{number // 1000}", f"A{number // 1000}G{number // 100}"
        if number % 1000 == 0:
            keys.append(Key(name=area, under="TOP"))
        if number % 100 == 0:
            keys.append(Key(name=group, under=area))
        keys.append(Key(name=f"{group}K{number}", under=group))
        opens[f"Door {number}"] = [f"{group}K{number}", group, area, "TOP"]
    return AccessChart.build([Door(name=name) for name in opens], keys, opens)


def square(size: int) -> AccessChart:
    """Every seventh pair of door and key marked, and the diagonal."""
    opens = {
        f"Door {d}": [f"K{k}" for k in range(size) if d * k % 7 == 1 or d == k] for d in range(size)
    }
    return AccessChart.build(
        [Door(name=name) for name in opens], [Key(name=f"K{k}") for k in range(size)], opens
    )


def run(out_dir: Path, quick: bool) -> None:
    """Write the charts to a folder for the time being and read them three times each."""
    doors, size = (DOORS // 20, SQUARE // 20) if quick else (DOORS, SQUARE)
    records: list[Record] = []
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        chart = tree(doors)
        write_schedule(chart, here / "d.csv", here / "k.csv")
        write_schedule(chart, here / "d.xlsx")
        write_matrix(square(size), here / "m.csv")
        write_matrix(square(size), here / "m.xlsx")
        cases = [
            ("schedule, CSV", doors, ("d.csv", "k.csv")),
            ("schedule, XLSX", doors, ("d.xlsx",)),
            ("matrix, CSV", size, ("m.csv",)),
            ("matrix, XLSX", size, ("m.xlsx",)),
        ]
        for name, count, files in cases:
            call = partial(read_chart, *(here / file for file in files))
            assert call().chart is not None
            timing = repeated(call, 3)
            seconds = f"{timing.best:5.2f} s best, {timing.median:5.2f} s median"
            print(f"{name:16} {count:6} doors  {seconds}")
            records.append(
                {
                    "form": name,
                    "doors": count,
                    "best_seconds": round(timing.best, 3),
                    "median_seconds": round(timing.median, 3),
                }
            )
    keep(out_dir, "chart", records, quick=quick)
