"""What a command costs besides the search: files read, pinned, proved, written, read, shown.

The cuts are laid out by hand, so that `pinloom pin` does everything that `pinloom design` does
except the design. Seconds are wall clock, step by step, through the files a user has.
"""

import contextlib
import io
import resource
import tempfile
from dataclasses import replace
from itertools import product
from pathlib import Path

from bench.kit import Record, keep, timed
from pinloom.cli.report import Report
from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat
from pinloom.hardware import format_text, load_format
from pinloom.workflow.folder import load
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.pin import PinOrder, pin

#: areas, groups, doors a group
SHAPES = ((3, 4, 30), (5, 10, 100), (8, 12, 210))
QUICK = SHAPES[:1]


def hardware() -> HardwareFormat:
    """Seven chambers of seven one-step depths, as a plain cylinder: it holds every shape."""
    made = load_format("ic-7x7-018").format
    assert made is not None
    return replace(made, name="bench-7x7-018", core=None)


def _digits(number: int, places: int) -> Bitting:
    """``number`` in base 6, as levels 1..6: 0 is the master's cut."""
    found = []
    for _ in range(places):
        number, digit = divmod(number, 6)
        found.append(digit + 1)
    return tuple(found)


def files(folder: Path, areas: int, groups: int, leaves: int) -> PinOrder:
    """A schedule, its cuts and its format as files, and the order to pin them. Two chambers tell
    areas apart, two groups, three the keys of a group.
    """
    made = hardware()
    keys, doors, cuts = ["key,under"], ["door,keys"], ["key,stamped"]

    def add(name: str, under: str, levels: Bitting) -> None:
        keys.append(f"{name},{under}")
        cuts.append(f"{name},{made.stamp((*levels, *(0,) * (7 - len(levels))))}")

    add("TOP", "", ())
    for area in range(areas):
        add(f"A{area}", "TOP", _digits(area, 2))
    for area, group in product(range(areas), range(groups)):
        above = (*_digits(area, 2), *_digits(group, 2))
        add(f"A{area}G{group}", f"A{area}", above)
        for leaf in range(leaves):
            name = f"A{area}G{group}K{leaf}"
            add(name, f"A{area}G{group}", (*above, *_digits(leaf, 3)))
            doors.append(f"{name},{name}")
    for name, lines in (("keys", keys), ("doors", doors), ("cuts", cuts)):
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "format.toml").write_text(format_text(made), encoding="utf-8")
    return PinOrder(
        chart=ChartSource(path=folder / "doors.csv", keys=folder / "keys.csv"),
        hardware=str(folder / "format.toml"),
        bittings=folder / "cuts.csv",
        out=folder / "job",
    )


def measure(areas: int, groups: int, leaves: int) -> Record:
    """One shape, from files to files and to the screen."""
    with tempfile.TemporaryDirectory() as name:
        order = files(Path(name), areas, groups, leaves)
        result, written = timed(lambda: pin(order))
        if result.job is None or result.saved is None or not result.job.proof.proved:
            raise RuntimeError(f"not proved: {[one.code for one in result.findings]}")
        job, saved = result.job, result.saved
        loaded, read = timed(lambda: load(order.out))
        if loaded.job != job:
            raise RuntimeError("the folder gives another job")
        with contextlib.redirect_stdout(io.StringIO()):
            _, shown = timed(lambda: Report().job(job, saved, order.out, result.findings))
        size = sum(path.stat().st_size for path in order.out.iterdir())
    return {
        "doors": areas * groups * leaves,
        "keys": len(job.chart.keys),
        "seconds_files_to_folder": round(written, 3),
        "seconds_folder_read_and_proved": round(read, 3),
        "seconds_report": round(shown, 3),
        "folder_bytes": size,
        "peak_megabytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }


def run(out_dir: Path, quick: bool) -> None:
    """Measure every shape and keep the figures."""
    records = []
    for shape in QUICK if quick else SHAPES:
        record = measure(*shape)
        records.append(record)
        print(" ".join(f"{name}={value}" for name, value in record.items()))
    keep(out_dir, "workflow", records, quick=quick)
