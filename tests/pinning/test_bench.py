"""Kit, purchase, fit, cutting data and assembly order."""

import random
from dataclasses import replace
from itertools import pairwise, permutations

import numpy as np
import pytest

from pinloom import pinning
from pinloom.core.bench import Part, PartCount, PartKind
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import BandedDrivers, Dimensions, DriverBand
from pinloom.core.job import ControlKey
from pinloom.core.lengths import from_inch, in_inch
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.messages import line
from pinloom.pinning.assembly import _nearest_path, _turned
from pinloom.pinning.purchase import Verdict
from tests.pinning.kit import K1_KEYS, K1_ROWS, bittings_of, chart_of, cuts, shipped

SIX = shipped("us-6x10-015")


# --- kit ------------------------------------------------------------------------------------------


def kit(**counts: int | None) -> pinning.Kit:
    """A kit of master pins by size, such as ``m2=10``."""
    return pinning.Kit.of({(PartKind.MASTER, name[1:]): count for name, count in counts.items()})


def masters(**counts: int) -> list[PartCount]:
    """Master pins needed, by size."""
    return [
        PartCount(part=Part(kind=PartKind.MASTER, size=name[1:]), count=count)
        for name, count in counts.items()
    ]


def test_what_is_short_and_by_how_many() -> None:
    """Too few, none, plenty, and a kind that the kit does not hold at all."""
    held = kit(m2=10, m3=0, m4=None)
    springs = PartCount(part=Part(kind=PartKind.SPRING), count=99)
    needed = [*masters(m5=1, m4=500, m3=2, m2=11), springs]
    found = pinning.short_of(held, needed)
    assert [(s.part.size, s.needed, s.held, s.missing) for s in found] == [
        ("2", 11, 10, 1),
        ("3", 2, 0, 2),
        ("5", 1, 0, 1),
    ]
    assert pinning.master_shortage(found) == 4
    assert pinning.short_of(held, masters(m2=10)) == ()


def test_sizes_on_hand_restrict_a_design() -> None:
    """Sizes with pins left, of those the format makes; None where the kit has none at all."""
    assert pinning.master_sizes(kit(m2=3, m3=0, m4=None, m99=5), SIX) == (2, 4)
    assert pinning.master_sizes(pinning.Kit.of({(PartKind.SPRING, ""): 5}), SIX) is None


def test_no_design_is_short_of_less_than_the_bound() -> None:
    """K-1 needs at least 8 master pins, so with 5 on hand any design is 3 short."""
    held = kit(m2=3, m4=2)
    assert pinning.shortage_bound(held, 8, SIX) == 3
    assert pinning.shortage_bound(held, 4, SIX) == 0
    assert pinning.shortage_bound(kit(m2=None), 8, SIX) == 0


@pytest.mark.parametrize(
    ("kind", "size", "expected"),
    [
        ("Master pin", "2", (PartKind.MASTER, "2")),
        ("master", "0.030 in", (PartKind.MASTER, "2")),
        ("master", "0.762mm", (PartKind.MASTER, "2")),
        ("master", '.03"', (PartKind.MASTER, "2")),
        ("bottom", "9", (PartKind.BOTTOM, "9")),
        ("driver", "0.200 in", (PartKind.DRIVER, "2")),
        ("top", "3", (PartKind.DRIVER, "3")),
        ("spring", "", (PartKind.SPRING, "")),
        ("master", "1", None),
        ("master", "0.031 in", None),
        ("washer", "2", None),
    ],
)
def test_kit_words(kind: str, size: str, expected: tuple[PartKind, str] | None) -> None:
    """Kinds and sizes as people write them; what the format does not make is not guessed."""
    found = pinning.kind_named(kind)
    named = None if found is None else pinning.size_named(SIX, found, size)
    assert (None if found is None or named is None else (found, named)) == expected


def test_every_part_of_a_job_is_one_that_the_format_makes() -> None:
    """Parts of pinned jobs are among ``parts_made``, for plain cylinders and cores."""
    for name, keys, control in (
        ("us-6x10-015", {"a": "123456", "b": "723456"}, ""),
        ("ic-7x10-0125", {"a": "5286140", "b": "7428360"}, "9604785"),
    ):
        made = shipped(name)
        chart = chart_of({"d": "a b", "e": "a"})
        controls = (ControlKey(group="", levels=cuts(made, control)),) if control else ()
        job = pinning.pin_job(chart, made, [made] * 2, bittings_of(chart, made, keys), controls)
        counted = {found.part for found in pinning.parts(chart, [made] * 2, job.cylinders)}
        assert counted <= set(pinning.parts_made(made))


# --- purchase -------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(30))
def test_fewest_sizes_agrees_with_exhaustion(seed: int) -> None:
    """Against a designer that needs one of some sets of sizes: the least purchase, proved least."""
    order = random.Random(seed)
    made = range(2, 10)
    answers = [frozenset(order.sample(made, order.randrange(1, 5))) for _ in range(3)]
    on_hand = order.sample(made, 3)

    def attempt(sizes: tuple[int, ...]) -> Verdict:
        able = any(answer <= set(sizes) for answer in answers)
        return Verdict.POSSIBLE if able else Verdict.IMPOSSIBLE

    found = pinning.fewest_sizes(on_hand, made, attempt, most_attempts=1_000)
    assert found.verdict is Verdict.POSSIBLE
    assert found.sizes is not None
    assert found.least
    assert len(found.sizes) == min(len(answer - set(on_hand)) for answer in answers)
    assert any(answer <= {*on_hand, *found.sizes} for answer in answers)


def test_a_purchase_is_called_least_only_when_smaller_ones_were_refuted() -> None:
    """A designer that gives up on small choices leaves a gap; one that says never is believed."""

    def unsure(sizes: tuple[int, ...]) -> Verdict:
        return Verdict.POSSIBLE if len(sizes) >= 3 else Verdict.UNKNOWN

    found = pinning.fewest_sizes((2,), (2, 3, 4, 5), unsure)
    assert (found.verdict, found.least) == (Verdict.POSSIBLE, False)
    never = pinning.fewest_sizes((2,), (2, 3), lambda _: Verdict.IMPOSSIBLE)
    assert (never.sizes, never.verdict) == (None, Verdict.IMPOSSIBLE)
    tired = pinning.fewest_sizes((2,), (2, 3), lambda _: Verdict.UNKNOWN)
    assert (tired.sizes, tired.verdict) == (None, Verdict.UNKNOWN)
    nothing = pinning.fewest_sizes((2, 3), (2, 3), lambda _: Verdict.POSSIBLE)
    assert (nothing.sizes, nothing.least, nothing.tried) == ((), True, 1)


# --- fit ------------------------------------------------------------------------------------------


def test_fit_is_checked_where_the_format_has_the_numbers() -> None:
    """With a chamber just deep enough nothing is said; a thousandth less and it overfills."""
    chart = chart_of({"d": "a b"})
    keys = bittings_of(chart, SIX, {"a": "123456", "b": "323456"})
    job = pinning.pin_job(chart, SIX, [SIX], keys)
    found = pinning.check_fit(chart, SIX, [SIX], keys, job.cylinders)
    assert [finding.code for finding in found] == ["pinning-fit-not-checked"]
    sizes = Dimensions(
        blade_height=from_inch("0.335"),
        spring_solid=from_inch("0.060"),
        chamber_depth=from_inch("0.335")
        + from_inch("0.435")
        - from_inch("0.500")
        + from_inch("0.060"),
    )
    deep = replace(SIX, dimensions=sizes)
    # Chamber 1: bottom 1 is 0.180, master 2 is 0.030, driver 1 is 0.235: 0.445 in; the rest 0.435
    # in at most but chamber 4 (bottom 4, driver 2: 0.425) and 6 (bottom 6, driver 2: 0.455).
    lengths = [
        in_inch(pinning.stack_length(deep, c, stack) or 0, 3)
        for c, stack in enumerate(job.cylinders[0].chambers)
        if stack
    ]
    assert lengths == ["0.445", "0.430", "0.445", "0.425", "0.440", "0.455"]
    said = pinning.check_fit(chart, deep, [deep], keys, job.cylinders)
    assert [(f.code, f.value("chamber"), f.value("over")) for f in said] == [
        ("pinning-overfilled", "1", "0.0100"),
        ("pinning-overfilled", "3", "0.0100"),
        ("pinning-overfilled", "5", "0.0050"),
        ("pinning-overfilled", "6", "0.0200"),
    ]
    assert all(line(finding) for finding in [*found, *said])
    roomy = replace(sizes, chamber_depth=from_inch("0.350"))
    ample = replace(SIX, dimensions=roomy)
    assert pinning.check_fit(chart, ample, [ample], keys, job.cylinders) == ()


def test_peaks_are_where_flanks_meet_or_at_the_blade() -> None:
    """90 degrees, spacing 0.150, flat 0.030: two cuts on 0.200 meet at 0.260, below the blade."""
    sizes = Dimensions(blade_height=from_inch("0.335"), cut_angle=90, cut_flat=from_inch("0.030"))
    made = replace(SIX, spacing=from_inch("0.150"), dimensions=sizes)
    deep, shallow = (9,) * 6, (0,) * 6
    assert abs(pinning.highest_peak(made, [deep]) - from_inch("0.260")) <= 1
    assert pinning.highest_peak(made, [deep, shallow]) == from_inch("0.335")
    with pytest.raises(ValueError, match="blade"):
        pinning.highest_peak(SIX, [deep])


def test_short_stacks_do_not_block() -> None:
    """A driver so short that the stack sinks below the shear line on the deepest cut is a fault."""
    band = DriverBand(label="standard", low=1, high=6, length=from_inch("0.137"))
    short = replace(shipped("us-5x6-023"), drivers=BandedDrivers(bands=(band,)))
    chart = chart_of({"d": "a"})
    keys = bittings_of(chart, short, {"a": "12345"})
    job = pinning.pin_job(chart, short, [short], keys)
    found = pinning.check_fit(chart, short, [short], keys, job.cylinders)
    # Depth 1 pin 0.172 + 0.137 = 0.309 < 0.287 + 0.023 = 0.310; deeper pins are longer.
    assert [(f.code, dict(f.values).get("chamber")) for f in found] == [
        ("pinning-short-stack", "1"),
        ("pinning-fit-not-checked", None),
    ]


# --- cutting --------------------------------------------------------------------------------------


def test_cutting_data_in_inch_and_mm() -> None:
    """Positions from the stop and roots of a key, in reading order, to the published tables."""
    chart = AccessChart.build([Door(name="d")], [Key(name="a", copies=3, blank="B6")], {"d": ["a"]})
    keys = bittings_of(chart, SIX, {"a": "092345"})
    one = pinning.key_cutting(chart, SIX, [SIX], keys)[0]
    assert (one.key, one.blank, one.copies, one.stamped) == ("a", "B6", 3, "092345")
    assert [(c.position, c.stamped, in_inch(c.distance), in_inch(c.root)) for c in one.cuts] == [
        (1, "0", "0.2310", "0.3350"),
        (2, "9", "0.3872", "0.2000"),
        (3, "2", "0.5434", "0.3050"),
        (4, "3", "0.6996", "0.2900"),
        (5, "4", "0.8558", "0.2750"),
        (6, "5", "1.0120", "0.2600"),
    ]
    assert (in_inch(one.reach), one.cuts_needed, one.blank_length) == ("1.0120", 6, None)
    assert one.tight == (1, 2)
    edge = bittings_of(chart, SIX, {"a": "060522"})
    assert pinning.key_cutting(chart, SIX, [SIX], edge)[0].tight == (1, 2)  # 6 is tight, 5 is not
    found = pinning.near_macs(SIX, [one])
    assert [f.value("positions") for f in found] == ["1 and 2, 2 and 3"]
    assert all(line(finding) for finding in found)


def test_cores_are_cut_from_the_tip_and_control_keys_come_last() -> None:
    """The first cut of a core key lies 0.080 in from the tip; its control key has a record too."""
    made = shipped("ic-7x10-0125")
    chart = chart_of({"d": "a"})
    keys = bittings_of(chart, made, {"a": "5286140"})
    controls = (ControlKey(group="east", levels=cuts(made, "9604785")),)
    records = pinning.key_cutting(chart, made, [made], keys, controls)
    assert [one.key for one in records] == ["a", "control:east"]
    assert in_inch(records[0].cuts[0].distance) == "0.0800"
    assert in_inch(records[0].cuts[6].distance) == "0.9800"


def test_a_key_for_short_cylinders_fits_a_shorter_blank() -> None:
    """us-6x10-015 keys whose doors all have five chambers need five cuts, the sixth is at the tip;
    with us-6x6-023 the spare cut is at the bow, so the blank stays as long as it was.
    """
    six, five = shipped("us-6x10-015"), shipped("us-5x10-015")
    chart = chart_of({"d": "a", "e": "b"})
    keys = bittings_of(chart, six, {"a": "123456", "b": "223456"})
    records = pinning.key_cutting(chart, six, [five, six], keys)
    assert [one.cuts_needed for one in records] == [5, 6]
    long, short = shipped("us-6x6-023"), shipped("us-5x6-023")
    keys = bittings_of(chart, long, {"a": "123456", "b": "223456"})
    records = pinning.key_cutting(chart, long, [short, long], keys)
    assert [one.cuts_needed for one in records] == [6, 6]


# --- assembly -------------------------------------------------------------------------------------


def cylinders(*bottoms: str) -> list[PinnedCylinder]:
    """Cylinders with bottom pins only."""
    return [
        PinnedCylinder(
            door=f"d{number}",
            chambers=tuple(PinStack(bottom=int(b), driver="1") for b in text),
        )
        for number, text in enumerate(bottoms)
    ]


def test_identical_cylinders_come_together() -> None:
    """Equal pins stand side by side, in chart order among themselves."""
    pins = cylinders("123456", "789789", "123456", "789789", "123455")
    order = pinning.assembly_order([SIX] * 5, pins)
    assert sorted(order) == [0, 1, 2, 3, 4]
    places = {door: place for place, door in enumerate(order)}
    assert places[2] == places[0] + 1
    assert places[3] == places[1] + 1


@pytest.mark.parametrize("seed", range(8))
def test_small_jobs_have_the_best_order(seed: int) -> None:
    """Up to ten kinds of cylinder, no order handles fewer sizes: agreed by exhaustion on seven."""
    draw = random.Random(seed)
    pins = cylinders(*("".join(draw.choices("0123456789", k=6)) for _ in range(7)))
    order = pinning.assembly_order([SIX] * 7, pins)
    apart = [[pinning.handled([SIX] * 7, pins, (a, b)) for b in range(7)] for a in range(7)]
    least = min(sum(apart[a][b] for a, b in pairwise(p)) for p in permutations(range(7)))
    assert pinning.handled([SIX] * 7, pins, order) == least


def test_larger_jobs_beat_the_chart_order() -> None:
    """60 random cylinders: clearly fewer sizes handled than in chart order, each door once."""
    draw = random.Random(1)
    pins = cylinders(*("".join(draw.choices("0123456789", k=6)) for _ in range(60)))
    formats = [SIX] * 60
    order = pinning.assembly_order(formats, pins)
    assert sorted(order) == list(range(60))
    before = pinning.handled(formats, pins, range(60))
    assert pinning.handled(formats, pins, order) < 0.75 * before
    assert order == pinning.assembly_order(formats, pins)


def test_turning_stretches_shortens_the_path() -> None:
    """From the nearest-neighbour path 2-opt never makes it worse, and often better."""
    gained = 0
    for seed in range(20):
        draw = random.Random(seed)
        points = [(draw.randrange(100), draw.randrange(100)) for _ in range(30)]
        apart = np.array(
            [[abs(a - c) + abs(b - d) for c, d in points] for a, b in points], dtype=np.int16
        )
        path = _nearest_path(apart)
        turned = _turned(list(path), apart)
        before, after = (sum(int(apart[a, b]) for a, b in pairwise(p)) for p in (path, turned))
        assert sorted(turned) == sorted(path)
        assert after <= before
        gained += after < before
    assert gained > 10


def test_trays_hold_the_whole_job() -> None:
    """K-1 with a door of five: trays of four, every piece once, parts adding up to the job's."""
    chart = chart_of(K1_ROWS, Door(name="104A", count=5))
    job = pinning.pin_job(chart, SIX, [SIX] * 8, bittings_of(chart, SIX, K1_KEYS))
    made = pinning.trays(chart, [SIX] * 8, job.cylinders, size=4)
    assert [len(tray.doors) for tray in made] == [4, 4, 4]
    assert sorted(door for tray in made for door in tray.doors).count("104A") == 5
    total: dict[Part, int] = {}
    for tray in made:
        for found in tray.parts:
            total[found.part] = total.get(found.part, 0) + found.count
    assert total == {p.part: p.count for p in pinning.parts(chart, [SIX] * 8, job.cylinders)}
