"""Stacks built, taken apart and decoded; pins and assembly order of a large job.

The stacks are random, on a ten-depth core: operating cuts two steps apart, a control cut whose
build-up pin is made. Each is laid out as pins, read back from their lengths and decoded; the count
of those that came back with the same cuts is kept beside the time and must be all of them.
"""

import random
from pathlib import Path

from bench.bench_proof import laboratory, tree
from bench.kit import Record, keep, timed
from pinloom import pinning
from pinloom.core.hardware import HardwareFormat
from pinloom.hardware import load_format

STACKS, QUICK_STACKS = 100_000, 2_000
SHAPE, QUICK_SHAPE = (5, 10, 100), (3, 4, 30)


def run(out_dir: Path, quick: bool) -> None:
    """Measure and print."""
    made = load_format("ic-7x10-0125").format
    assert made is not None
    count = QUICK_STACKS if quick else STACKS
    same, seconds = timed(lambda: round_trips(made, count))
    assert same == count, f"{count - same} stacks came back with other cuts"
    records: list[Record] = [{"what": "stacks round trip", "count": same, "seconds": seconds}]
    records.extend(_job(QUICK_SHAPE if quick else SHAPE))
    keep(out_dir, "pinning", records, quick=quick)
    for record in records:
        print(f"{record['what']:<28} {record['count']:>8} {record['seconds']:>8.2f} s")


def round_trips(made: HardwareFormat, count: int) -> int:
    """How many random stacks came back with the cuts they were built for."""
    order = random.Random(0)
    same = 0
    for _ in range(count):
        parity = order.randrange(2)
        cuts = set(order.sample(range(parity, 10, 2), order.randrange(1, 5)))
        control = order.randrange(max(0, max(cuts) - 8), 10)
        stack = pinning.stack_for(made, 0, cuts, control)
        lengths = [part.length for part in pinning.describe(stack, made, 0)]
        read = pinning.read_pins(made, 0, [n for n in lengths if n is not None]).stack
        if read is not None:
            decoded = pinning.decode(made, 0, read)
            same += (set(decoded.cuts), decoded.control) == (cuts, control)
    return same


def _job(shape: tuple[int, int, int]) -> list[Record]:
    chart, bittings = tree(*shape)
    made = laboratory()
    formats = [made] * len(chart.doors)
    job, pin_seconds = timed(lambda: pinning.pin_job(chart, made, formats, bittings))
    order, order_seconds = timed(lambda: pinning.assembly_order(formats, job.cylinders))
    _, parts_seconds = timed(lambda: pinning.parts(chart, formats, job.cylinders))
    return [
        {"what": "cylinders pinned", "count": len(job.cylinders), "seconds": pin_seconds},
        {"what": "cylinders put in order", "count": len(order), "seconds": order_seconds},
        {"what": "cylinders counted", "count": len(job.cylinders), "seconds": parts_seconds},
    ]
