"""The proof's rules, one claim a test, on charts that stand in the test."""

from dataclasses import replace

import pytest

from pinloom.core.chart import AccessChart, Blank, Door, Key, KeyStanding
from pinloom.core.hardware import CoreKind, Stop
from pinloom.core.job import ControlKey, FaultKind
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.messages import do, what
from pinloom.proof import findings, prove
from pinloom.proof.faults import KEPT
from tests.proof.formats import core, tiny, us_6x6_023, us_6x10_015
from tests.proof.jobs import pin_chart, pins_for, stack_for
from tests.proof.simulator import as_set

OPENS, BLOCKED = FaultKind.OPENS, FaultKind.BLOCKED


def _one_door(*names: str, **door: str) -> AccessChart:
    return AccessChart.build(
        [Door(name="Loft", **door)],  # type: ignore[arg-type]
        [Key(name=name) for name in names],
        {"Loft": [names[0]]},
    )


def test_two_step_hardware_counts_a_near_key_as_opening() -> None:
    """One step off in every chamber opens where the least step is 2, and not where it is 1."""
    chart = _one_door("owner", "near", "far")
    made = us_6x10_015()
    bittings = ((4, 4, 4, 4, 4, 4), (5, 3, 5, 4, 4, 5), (6, 3, 5, 4, 4, 5))
    pinning = pin_chart(chart, bittings)
    report = prove(chart, made, [made], bittings, (), pinning)
    assert as_set(report) == {(OPENS, "near", "Loft")}
    assert report.faults[0].detail == "within the least step"
    one_step = replace(made, least_step=1)
    assert prove(chart, one_step, [one_step], bittings, (), pinning).proved


def test_a_key_that_shall_open_must_lie_exactly() -> None:
    """A rightful key one step off in one chamber is blocked, and the chamber is named."""
    chart, made = _one_door("owner"), us_6x10_015()
    pins = pins_for("Loft", [(4, 4, 4, 4, 4, 4)])
    report = prove(chart, made, [made], [(4, 4, 5, 4, 4, 4)], (), [pins])
    assert as_set(report) == {(BLOCKED, "owner", "Loft")}
    assert report.faults[0].detail == "chamber 3: 1 off"


@pytest.mark.parametrize("standing", [KeyStanding.RESERVED, KeyStanding.RETIRED])
def test_reserved_and_retired_keys_open_nothing(standing: KeyStanding) -> None:
    """A key without active standing that opens a door is a fault even where it is marked."""
    chart = AccessChart.build(
        [Door(name="Loft")],
        [Key(name="owner"), Key(name="lost", standing=standing)],
        {"Loft": ["owner", "lost"]},
    )
    made = tiny()
    bittings = ((0, 1, 3), (0, 1, 2))  # keys in natural order: lost, owner
    pinning = (pins_for("Loft", bittings),)
    report = prove(chart, made, [made], bittings, (), pinning)
    assert as_set(report) == {(OPENS, "lost", "Loft")}
    alone = (pins_for("Loft", [bittings[1]]),)
    assert prove(chart, made, [made], bittings, (), alone).proved


def test_a_keyway_keeps_keys_out_and_blocks_rightful_ones() -> None:
    """A blank that does not enter opens nothing, for better and for worse."""
    chart = AccessChart.build(
        [Door(name="A1", keyway="A"), Door(name="B1", keyway="B")],
        [Key(name="a", blank="narrow"), Key(name="b", blank="other"), Key(name="m", blank="wide")],
        {"A1": ["a", "m"], "B1": ["b", "m", "a"]},
        [
            Blank(name="narrow", enters=("A",)),
            Blank(name="other", enters=("B",)),
            Blank(name="wide", enters=("A", "B")),
        ],
    )
    made = tiny()
    bittings = ((0, 1, 2),) * 3
    report = prove(chart, made, [made] * 2, bittings, (), pin_chart(chart, bittings))
    assert as_set(report) == {(BLOCKED, "a", "B1")}
    assert report.faults[0].detail == "does not enter"


def test_unpinned_chambers_pass_every_key() -> None:
    """Two keys that differ in an unpinned chamber only are one key to that cylinder."""
    chart, made = _one_door("owner", "other"), tiny()
    bittings = ((0, 3, 2), (0, 0, 2))  # other, owner
    pinned = (pins_for("Loft", [bittings[1]]),)
    loose = (pins_for("Loft", [bittings[1]], unpinned=[1]),)
    bittings = (bittings[0], bittings[1])
    assert chart.keys[0].name == "other"
    assert prove(chart, made, [made], bittings, (), pinned).proved
    assert as_set(prove(chart, made, [made], bittings, (), loose)) == {(OPENS, "other", "Loft")}


def test_cuts_meet_chambers_by_distance_from_the_stop() -> None:
    """A six-cut key meets a five-chamber cylinder with its last five cuts in the 0.023 in family
    (its extra cut lies at the bow), and with its first five in the 0.015 in family.
    """
    six, five = us_6x6_023(6), us_6x6_023(5)
    chart = _one_door("owner")
    pins = pins_for("Loft", [(1, 2, 3, 2, 1)])
    assert prove(chart, six, [five], [(5, 1, 2, 3, 2, 1)], (), [pins]).proved
    assert not prove(chart, six, [five], [(1, 2, 3, 2, 1, 5)], (), [pins]).proved
    long = us_6x10_015()
    short = replace(long, name="us-5x10-015", chambers=5)
    pins = pins_for("Loft", [(1, 2, 3, 2, 1)])
    assert prove(chart, long, [short], [(1, 2, 3, 2, 1, 5)], (), [pins]).proved
    assert not prove(chart, long, [short], [(5, 1, 2, 3, 2, 1)], (), [pins]).proved


def test_a_chamber_without_a_cut_counts_against_the_design() -> None:
    """A five-cut key in a six-chamber cylinder opens nothing for sure and is kept out by nothing
    in the sixth chamber; unpinned, that chamber passes.
    """
    long = us_6x10_015()
    short = replace(long, name="us-5x10-015", chambers=5)
    chart = _one_door("owner", "other")
    same, other = (1, 2, 3, 2, 1), (1, 2, 3, 2, 5)
    assert chart.keys[0].name == "other"
    pins = pins_for("Loft", [(1, 2, 3, 2, 1, 4)])
    report = prove(chart, short, [long], [same, same], (), [pins])
    assert as_set(report) == {(BLOCKED, "owner", "Loft"), (OPENS, "other", "Loft")}
    loose = pins_for("Loft", [(1, 2, 3, 2, 1, 4)], unpinned=[5])
    assert prove(chart, short, [long], [other, same], (), [loose]).proved


def test_a_key_located_otherwise_does_not_enter() -> None:
    """A shoulder-stopped key opens no cylinder for tip-stopped keys."""
    chart, made = _one_door("owner", "other"), tiny()
    tip = replace(made, stop=Stop.TIP)
    bittings = ((0, 1, 2), (0, 1, 2))
    report = prove(chart, made, [tip], bittings, (), [pins_for("Loft", bittings)])
    assert as_set(report) == {(BLOCKED, "owner", "Loft")}


def test_lengths_decide_where_there_are_lengths() -> None:
    """A bottom pin a step too long in the format's own table blocks the key that it is meant for;
    a table rounded by a hundredth of a millimetre blocks nobody.
    """
    made, chart = tiny(), _one_door("owner")
    bittings = [(1, 1, 1)]
    wrong = replace(made.depths[1], bottom_pin=(made.depths[1].bottom_pin or 0) + made.step)
    odd = replace(made, depths=(made.depths[0], wrong, *made.depths[2:]))
    pinning = pin_chart(chart, bittings)
    assert prove(chart, made, [made], bittings, (), pinning).proved
    assert as_set(prove(chart, made, [odd], bittings, (), pinning)) == {(BLOCKED, "owner", "Loft")}
    rounded = replace(made.depths[1], bottom_pin=(made.depths[1].bottom_pin or 0) + 10_000)
    near = replace(made, depths=(made.depths[0], rounded, *made.depths[2:]))
    assert prove(chart, made, [near], bittings, (), pinning).proved


def test_bad_stacks_are_told_and_hide_nothing() -> None:
    """Every kind of bad stack is told with its chamber, and faults elsewhere are still found."""
    made = replace(tiny(most=1), master_pins=(2, 3))
    names = ["count", "deep", "door", "driver", "made", "many", "stray", "tall"]
    chart = AccessChart.build(
        [Door(name=name) for name in [*names, "good"]], [Key(name="k"), Key(name="x")], {}
    )
    sound = stack_for([3])

    def cylinder(name: str, stack: PinStack) -> PinnedCylinder:
        return PinnedCylinder(door=name, chambers=(sound, stack, sound))

    by_name = {
        "count": PinnedCylinder(door="count", chambers=(sound, sound)),
        "deep": cylinder("deep", PinStack(bottom=4)),
        "door": cylinder("elsewhere", sound),
        "driver": cylinder("driver", PinStack(bottom=3, driver="no. 7")),
        "made": cylinder("made", PinStack(bottom=0, masters=(1,))),
        "many": cylinder("many", PinStack(bottom=0, masters=(2, 2))),
        "stray": cylinder("stray", PinStack(bottom=3, buildup=2)),
        "tall": cylinder("tall", PinStack(bottom=2, masters=(3,))),
        "good": cylinder("good", sound),
    }
    pinning = [by_name[door.name] for door in chart.doors]
    bittings = ((3, 3, 3), (0, 0, 0))
    report = prove(chart, made, [made] * 9, bittings, (), pinning)
    told = {(f.door, f.detail) for f in report.faults if f.kind is FaultKind.BAD_STACK}
    assert told == {
        ("count", "wrong number of chambers: 2, not 3"),
        ("deep", "chamber 2: no such bottom pin (level 4)"),
        ("door", "pins are of another door: elsewhere"),
        ("driver", "chamber 2: no such driver: no. 7"),
        ("made", "chamber 2: master pin not made: 1"),
        ("many", "chamber 2: too many master pins: 2, at most 1"),
        ("many", "chamber 2: deeper than the deepest cut"),
        ("stray", "chamber 2: build-up pin where there is no control line: 2"),
        ("tall", "chamber 2: deeper than the deepest cut"),
    }
    opened = {f.door for f in report.faults if f.kind is OPENS}
    assert opened == {"door", "driver", "good", "stray"}


def test_a_missing_length_is_a_bad_stack() -> None:
    """Where a format gives lengths, a bottom pin without one cannot be proved."""
    made, chart = tiny(), _one_door("owner")
    depths = (made.depths[0], replace(made.depths[1], bottom_pin=None), *made.depths[2:])
    gap = replace(made, depths=depths)
    report = prove(chart, gap, [gap], [(0, 1, 2)], (), [pins_for("Loft", [(0, 1, 2)])])
    assert [f.detail for f in report.faults] == ["chamber 2: no length for the bottom pin 2"]


def test_control_key_of_each_core_kind() -> None:
    """A control key releases its own core by the control line, in every chamber of the small kind
    and in the control chambers only of the large kind, where it operates the others.
    """
    chart = _one_door("owner")
    for made in (core(CoreKind.SMALL), core(CoreKind.LARGE, control_chambers=(1,))):
        assert made.core is not None
        owner, control = (0, 1, 2), (0, 3, 2) if made.core.kind is CoreKind.LARGE else (2, 3, 0)
        chambers = tuple(
            PinStack(
                bottom=owner[c],
                buildup=control[c] + made.core.offset - owner[c]
                if c in made.core.control_chambers
                else None,
            )
            for c in range(3)
        )
        pinning = (PinnedCylinder(door="Loft", chambers=chambers),)
        keys = (ControlKey(group="", levels=control),)
        assert prove(chart, made, [made], [owner], keys, pinning).proved
        wrong = (ControlKey(group="", levels=(control[0], 1, control[2])),)
        kinds = {f.kind for f in prove(chart, made, [made], [owner], wrong, pinning).faults}
        assert FaultKind.CONTROL_BLOCKED in kinds
        none = prove(chart, made, [made], [owner], (), pinning)
        assert [(f.kind, f.detail) for f in none.faults] == [
            (FaultKind.CONTROL_BLOCKED, "no such key")
        ]


def test_control_keys_of_two_groups_are_told_apart() -> None:
    """The control key of another group that releases a core is a fault under its own name."""
    chart = AccessChart.build(
        [Door(name="e", core_group="east"), Door(name="w", core_group="west")],
        [Key(name="k")],
        {"e": ["k"], "w": ["k"]},
    )
    made = core(CoreKind.SMALL)
    chambers = tuple(PinStack(bottom=0, buildup=4 + level) for level in (1, 2, 3))
    pinning = tuple(PinnedCylinder(door=name, chambers=chambers) for name in ("e", "w"))
    keys = tuple(ControlKey(group=group, levels=(1, 2, 3)) for group in ("east", "west"))
    report = prove(chart, made, [made] * 2, [(0, 0, 0)], keys, pinning)
    assert as_set(report) == {
        (FaultKind.REACHES_CONTROL, "control:west", "e"),
        (FaultKind.REACHES_CONTROL, "control:east", "w"),
    }


def test_a_flood_of_faults_keeps_every_door() -> None:
    """A hopeless job names every door, and says how many keys more when it stops listing."""
    count = 700
    chart = AccessChart.build(
        [Door(name=f"d{i}") for i in range(count)], [Key(name=f"k{i}") for i in range(count)], {}
    )
    made = tiny()
    bittings = [(1, 1, 1)] * count
    pinning = [pins_for(door.name, bittings[:1]) for door in chart.doors]
    report = prove(chart, made, [made] * count, bittings, (), pinning)
    assert {fault.door for fault in report.faults} == {door.name for door in chart.doors}
    assert KEPT <= len(report.faults) < KEPT + 2 * count
    assert report.faults[-1].detail == "and 699 more keys"


def test_faults_come_in_the_order_of_the_chart() -> None:
    """Faults are sorted by door and key whatever format their cylinders have."""
    one, two = tiny(), replace(tiny(), name="other", macs=3)
    chart = AccessChart.build(
        [Door(name=f"d{i}") for i in range(6)], [Key(name="k1"), Key(name="k2")], {}
    )
    formats = [one, two] * 3
    pinning = [pins_for(door.name, [(1, 1, 1)]) for door in chart.doors]
    report = prove(chart, one, formats, [(1, 1, 1)] * 2, (), pinning)
    assert [(f.door, f.key) for f in report.faults] == [
        (f"d{i}", f"k{j}") for i in range(6) for j in (1, 2)
    ]


def test_findings_word_every_fault() -> None:
    """Each fault becomes a finding with its own code and two full sentences."""
    chart, made = _one_door("owner", "other"), tiny()
    assert chart.keys[0].name == "other"
    pins = PinnedCylinder(
        door="Loft", chambers=(stack_for([0]), stack_for([1]), PinStack(bottom=9))
    )
    sound = pins_for("Loft", [(0, 1, 2)])
    found = [
        *findings(prove(chart, made, [made], [(0, 1, 2), (3, 1, 2)], (), [sound])),
        *findings(prove(chart, made, [made], [(0, 1, 2), (3, 1, 2)], (), [pins])),
    ]
    codes = [finding.code for finding in found]
    assert codes == ["proof-opens", "proof-blocked", "proof-bad-stack"]
    for finding in found:
        assert what(finding).endswith(".")
        assert do(finding).endswith(".")


@pytest.mark.parametrize(
    ("bittings", "doors"),
    [([(0, 1)], 1), ([(0, 1, 9)], 1), ([], 1), ([(0, 1, 2)], 2)],
)
def test_records_that_do_not_belong_together_are_a_bug(
    bittings: list[tuple[int, ...]], doors: int
) -> None:
    """A bitting of another format, or records of another length, raise."""
    chart, made = _one_door("owner"), tiny()
    pins = pins_for("Loft", [(0, 1, 2)])
    with pytest.raises(ValueError, match=r"bitting|doors"):
        prove(chart, made, [made] * doors, bittings, (), [pins] * doors)
