"""Pairs of key and cylinder that the proof tries in a second, on trees that hold.

The trees are laid out by hand (one digit a chamber for each level), so that the figures are those
of the proof alone. Seconds are of the whole call: inspection of stacks, comparison, margin and
fingerprint. Memory is the peak of the process, chart and pinning included.
"""

import resource
from dataclasses import replace
from functools import partial
from itertools import product
from pathlib import Path

from bench.kit import Record, keep, repeated
from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.hardware import load_format
from pinloom.proof import prove

#: areas, groups, doors a group
SHAPES = ((3, 4, 30), (5, 10, 100), (10, 20, 100))
QUICK = SHAPES[:1]


def laboratory() -> HardwareFormat:
    """Seven chambers of ten one-step depths: a laboratory format that holds every shape."""
    made = load_format("ic-7x10-0125").format
    assert made is not None
    return replace(
        made, name="laboratory", core=None, least_step=1, master_pins=tuple(range(1, 10))
    )


def _digits(number: int, places: int) -> Bitting:
    """``number`` in base 9, as levels 1..9: 0 is the master's cut."""
    found = []
    for _ in range(places):
        number, digit = divmod(number, 9)
        found.append(digit + 1)
    return tuple(found)


def tree(areas: int, groups: int, leaves: int) -> tuple[AccessChart, list[Bitting]]:
    """A key tree with its cuts: two chambers for areas, two for groups, three for change keys."""
    cuts: dict[str, Bitting] = {"TMK": (0,) * 7}
    opens: dict[str, list[str]] = {}
    for area in range(areas):
        a = _digits(area, 2)
        cuts[f"A{area}"] = (*a, 0, 0, 0, 0, 0)
        for group in range(groups):
            g = (*a, *_digits(group, 2))
            cuts[f"A{area}G{group}"] = (*g, 0, 0, 0)
    for area, group, leaf in product(range(areas), range(groups), range(leaves)):
        above = f"A{area}G{group}"
        name = f"{above}K{leaf}"
        cuts[name] = (*cuts[above][:4], *_digits(leaf, 3))
        opens[name] = [name, above, f"A{area}", "TMK"]
    chart = AccessChart.build(
        [Door(name=name) for name in opens], [Key(name=name) for name in cuts], opens
    )
    return chart, [cuts[key.name] for key in chart.keys]


def pinned(chart: AccessChart, cuts: list[Bitting]) -> list[PinnedCylinder]:
    """Every cylinder split on the cuts of its keys."""
    cylinders = []
    for door, openers in zip(chart.doors, chart.openers, strict=True):
        chambers = []
        for column in zip(*(cuts[key] for key in openers), strict=True):
            levels = sorted(set(column))
            steps = tuple(b - a for a, b in zip(levels, levels[1:], strict=False))
            chambers.append(PinStack(bottom=levels[0], masters=steps))
        cylinders.append(PinnedCylinder(door=door.name, chambers=tuple(chambers)))
    return cylinders


def run(out_dir: Path, quick: bool) -> None:
    """Prove each shape a few times, print and keep the figures."""
    made = laboratory()
    records: list[Record] = []
    print(f"{'doors':>7} {'keys':>7} {'s':>8} {'pairs/s':>10} {'MB':>6}")
    for shape in QUICK if quick else SHAPES:
        chart, cuts = tree(*shape)
        pinning = pinned(chart, cuts)
        call = partial(prove, chart, made, [made] * len(chart.doors), cuts, (), pinning)
        assert call().proved, "the bench's own tree must hold"
        seconds = repeated(call, 3).best
        pairs = len(chart.doors) * len(chart.keys)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
        records.append(
            {
                "doors": len(chart.doors),
                "keys": len(chart.keys),
                "seconds": seconds,
                "pairs_per_second": pairs / seconds,
                "peak_mb": peak,
            }
        )
        print(
            f"{len(chart.doors):7} {len(chart.keys):7} {seconds:8.3f}"
            f" {pairs / seconds:10.2e} {peak:6.0f}"
        )
    keep(out_dir, "proof", records, quick=quick)
