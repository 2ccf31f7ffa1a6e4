"""The frozen question against brute force."""

import random

import pytest

from pinloom.core.bitting import Bitting, keeps_macs
from pinloom.core.hardware import HardwareFormat
from pinloom.growth.frozen import places
from pinloom.growth.system import System, can_be_pinned, least_splits
from tests.growth.kit import chart_of, every_bitting, right, tiny


def _brute(system: System, key: int, made: HardwareFormat) -> set[Bitting]:
    """Try every bitting: own doors pinned for their keys, all others as they are."""
    found = set()
    known = [cut or (0,) * made.chambers for cut in system.cuts]
    others = {cut for k, cut in enumerate(known) if k != key}
    for candidate in every_bitting(made):
        if candidate in others or len(set(candidate)) == 1 or not keeps_macs(candidate, made.macs):
            continue
        cuts = tuple(candidate if k == key else cut for k, cut in enumerate(known))
        splits = []
        for d, row in enumerate(system.chart.openers):
            if key in row:
                splits.append([{cuts[k][p] for k in row} for p in range(made.chambers)])
            else:
                splits.append([set(levels) for levels in system.splits[d] or ()])
        pinned = all(
            len(levels) <= made.max_masters + 1
            and all(
                b - a in made.master_pins
                for a, b in zip(sorted(levels), sorted(levels)[1:], strict=False)
            )
            for door in splits
            for levels in door
        )
        if pinned and right(system.chart, made, cuts, splits):
            found.add(candidate)
    return found


@pytest.mark.parametrize("least_step", [1, 2])
def test_places_are_exactly_those_of_brute_force(least_step: int) -> None:
    """On up to 40 random small systems the marked bittings are exactly the possible ones, and the
    sample holds systems with none, some and many of them.
    """
    made = tiny(chambers=3, depths=6 if least_step == 2 else 4, least_step=least_step)
    random_ = random.Random(least_step)
    sizes = set()
    looked_at = 0
    for _ in range(4000):
        if looked_at == 40:
            break
        names = ["A", "B", "C", "D", "M"]
        rows = {f"door {i}": " ".join(sorted({random_.choice(names), "M"})) for i in range(4)}
        rows["door N"] = "N M" if random_.random() < 0.7 else "N A B"
        chart = chart_of(rows, reserved=" ".join(names))
        cuts: list[Bitting | None] = [
            tuple(random_.randrange(made.levels) for _ in range(made.chambers)) for _ in chart.keys
        ]
        key = chart.key_index()["N"]
        cuts[key] = None
        system = System(
            chart=chart, made=made, formats=(made,) * len(chart.doors), cuts=tuple(cuts), splits=()
        )
        splits = tuple(
            least_splits(system, d, [c for k in row if (c := cuts[k]) is not None])
            for d, row in enumerate(chart.openers)
        )
        system = System(
            chart=chart,
            made=made,
            formats=system.formats,
            cuts=tuple(cuts),
            splits=splits,
        )
        if not all(
            can_be_pinned(s, made) for d, s in enumerate(splits) if chart.doors[d].name != "door N"
        ) or not right(
            chart_of({d: k for d, k in rows.items() if d != "door N"}, reserved=" ".join(names)),
            made,
            tuple(c for c in cuts if c is not None),
            [
                [set(levels) for levels in s]
                for d, s in enumerate(splits)
                if chart.doors[d].name != "door N"
            ],
        ):
            continue  # the frozen part is wrong by itself
        looked_at += 1
        found = places(system, key)
        expected = _brute(system, key, made)
        marked = {c for c in every_bitting(made) if found.fits[c]}
        assert marked == expected
        sizes.add(min(len(expected), 3))
        for best in found.best(3):
            assert best in expected
    assert looked_at == 40
    assert {0, 3} <= sizes
