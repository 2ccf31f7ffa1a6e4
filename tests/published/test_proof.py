"""The proof against worked examples from print."""

from dataclasses import replace

import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import (
    BalancedDrivers,
    CoreArithmetic,
    CoreKind,
    Depth,
    HardwareFormat,
    Provenance,
    Reading,
    Stop,
)
from pinloom.core.job import ControlKey, FaultKind, ProofReport
from pinloom.core.lengths import from_inch
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.hardware import load_format
from pinloom.proof import prove
from tests.audit.brute import cuttable
from tests.proof.formats import us_6x10_015
from tests.proof.jobs import K1_MENDED, K1_PRINTED, k1_bittings, k1_chart, pin_chart

pytestmark = pytest.mark.published


def test_k1_printed_bittings_have_three_faults() -> None:
    """K-1 as printed: the maintenance key opens 104A and 104B (seen) and 106 (derived), no more.

    Source: Keynotes (Associated Locksmiths of America), February 2022, printed p. 36.
    """
    chart, made = k1_chart(), us_6x10_015()
    bittings = k1_bittings(made, K1_PRINTED)
    pinning = pin_chart(chart, bittings)
    assert sum(cylinder.master_pins() for cylinder in pinning) == 11  # seen
    report = prove(chart, made, [made] * 8, bittings, (), pinning)
    assert [(f.kind, f.key, f.door) for f in report.faults] == [
        (FaultKind.OPENS, "maintenance", "104A"),
        (FaultKind.OPENS, "maintenance", "104B"),
        (FaultKind.OPENS, "maintenance", "106"),
    ]
    assert not report.proved
    assert report.pairs == 32


def test_k1_mended_is_proved_with_eight_master_pins() -> None:
    """K-1 with the cleaning key as common base: 8 master pins and no fault (derived from K-1)."""
    chart, made = k1_chart(), us_6x10_015()
    bittings = k1_bittings(made, K1_MENDED)
    pinning = pin_chart(chart, bittings)
    assert sum(cylinder.master_pins() for cylinder in pinning) == 8
    report = prove(chart, made, [made] * 8, bittings, (), pinning)
    assert report.proved
    assert report.tightest is not None
    assert (report.tightest.chambers, report.tightest.steps) == (1, 2)


def test_k1_on_the_shipped_format() -> None:
    """The three faults of K-1 come out of the shipped us-6x10-015 as well, and no others."""
    chart, made = k1_chart(), _shipped("us-6x10-015")
    bittings = k1_bittings(made, K1_PRINTED)
    report = prove(chart, made, [made] * 8, bittings, (), pin_chart(chart, bittings))
    assert [fault.door for fault in report.faults] == ["104A", "104B", "106"]


def _shipped(name: str) -> HardwareFormat:
    made = load_format(name).format
    assert made is not None
    assert any(origin.provenance is Provenance.PUBLISHED for origin in made.origins)
    return made


def _numbers(text: str) -> list[int]:
    return [int(part) for part in text.split()]


def _levels(made: HardwareFormat, text: str) -> Bitting:
    found = [made.level_of(number) for number in _numbers(text)]
    assert None not in found
    return tuple(level for level in found if level is not None)


def _stacks(made: HardwareFormat, bottom: str, master: str, buildup: str) -> PinnedCylinder:
    """A cylinder from printed rows; ``-`` = no pin."""
    rows = zip(_levels(made, bottom), master.split(), buildup.split(), strict=True)
    return PinnedCylinder(
        door="core",
        chambers=tuple(
            PinStack(
                bottom=low,
                masters=() if size == "-" else (int(size),),
                buildup=None if up == "-" else int(up),
            )
            for low, size, up in rows
        ),
    )


def _prove_core(
    made: HardwareFormat, keys: dict[str, Bitting], control: Bitting, pins: PinnedCylinder
) -> ProofReport:
    """One core; every key but ``stranger`` shall open it."""
    chart = AccessChart.build(
        [Door(name="core")],
        [Key(name=name) for name in keys],
        {"core": [name for name in keys if name != "stranger"]},
    )
    bittings = [keys[key.name] for key in chart.keys]
    controls = [ControlKey(group="", levels=control)]
    return prove(chart, made, [made], bittings, controls, [pins])


# (change key, bottom, master, build-up) as printed
I1 = [
    ("7 4 2 8 3 6", "5 2 2 6 1 4", "2 2 6 2 2 2", "12 12 2 6 14 12"),
    ("3 0 4 0 5 2", "3 0 4 0 1 2", "2 2 4 6 4 2", "14 14 2 8 12 14"),
    ("1 8 6 2 9 0", "1 2 6 2 1 0", "4 6 2 4 8 4", "14 8 2 8 8 14"),
    ("5 2 8 6 1 4", "5 2 8 6 1 4", "- - - - - -", "14 14 2 8 16 14"),
]


@pytest.mark.parametrize(("change", "bottom", "master", "buildup"), I1)
def test_i1_small_format_cores(change: str, bottom: str, master: str, buildup: str) -> None:
    """I-1: every printed stack is operated by its change key and the top master 528614, releases
    with control 960478 and with no other key; one build-up pin off, and the control key fails.

    Source: 5402 Series Technical Manual, pp. 3-17, 3-19.
    """
    made = _shipped("ic-6x10-0125")
    control = _levels(made, "9 6 0 4 7 8")
    keys = {
        "change": _levels(made, change),
        "master": _levels(made, "5 2 8 6 1 4"),
        "stranger": _levels(made, "9 9 9 9 9 9"),
    }
    pins = _stacks(made, bottom, master, buildup)
    assert _prove_core(made, keys, control, pins).proved
    first = pins.chambers[0]
    assert first is not None
    assert first.buildup is not None
    for size in (first.buildup - 2, first.buildup + 2):
        chambers = (replace(first, buildup=size), *pins.chambers[1:])
        off = replace(pins, chambers=chambers)
        kinds = {fault.kind for fault in _prove_core(made, keys, control, off).faults}
        assert FaultKind.CONTROL_BLOCKED in kinds


def test_i1_only_the_control_key_reaches_the_control_line() -> None:
    """I-1's first stack: a key one step off the control key in one chamber counts as releasing the
    core on this two-step hardware, a key two steps off does not.

    Source: 5402 Series Technical Manual, p. 3-19.
    """
    made = _shipped("ic-6x10-0125")
    control = _levels(made, "9 6 0 4 7 8")
    near = (8, 6, 0, 4, 7, 8)
    far = (7, 6, 0, 4, 7, 8)
    assert made.least_step == 2
    pins = _stacks(made, *I1[0][1:])
    for levels, kinds in ((near, {FaultKind.REACHES_CONTROL}), (far, set())):
        keys = {"change": _levels(made, I1[0][0]), "stranger": levels}
        found = {fault.kind for fault in _prove_core(made, keys, control, pins).faults}
        assert found == kinds


def test_i3_an_impossible_stack_releases_with_no_key() -> None:
    """I-3: A2 stack 5, 2, 14 (plug total 7) implies control cut 11: no control key that can be cut
    releases it.

    Source: lockpicking101.com forum f=9 t=50294, March 2011.
    """
    made = _shipped("ic-6x10-0125")
    pins = _stacks(made, "5 2 2 6 1 4", "2 2 6 2 2 2", "14 12 2 6 14 12")
    keys = {"change": _levels(made, "7 4 2 8 3 6")}
    for level in range(10):
        control = (level, *_levels(made, "9 6 0 4 7 8")[1:])
        kinds = {fault.kind for fault in _prove_core(made, keys, control, pins).faults}
        assert FaultKind.CONTROL_BLOCKED in kinds


def _large_core() -> HardwareFormat:
    """P-2's arithmetic: six depths, control in chambers 3 and 4, control driver = control + 6 -
    plug total. Pins by number only; steps of 0.020 in are invented and decide nothing.
    """
    step = from_inch("0.020")
    return HardwareFormat(
        name="test-large-core",
        title="pin numbers of a large-format core",
        chambers=6,
        depths=tuple(
            Depth(number=n, stamped=str(n), root=from_inch("0.300") - n * step) for n in range(1, 7)
        ),
        reading=Reading.BOW_TO_TIP,
        stop=Stop.SHOULDER,
        step=step,
        first_cut=from_inch("0.200"),
        spacing=from_inch("0.150"),
        macs=5,
        least_step=1,
        master_pins=(1, 2, 3, 4, 5),
        max_masters=4,
        drivers=BalancedDrivers(total=10),
        core=CoreArithmetic(
            kind=CoreKind.LARGE,
            offset=6,
            stack_total=13,
            control_chambers=(2, 3),
            buildup_sizes=tuple(range(1, 12)),
        ),
    )


def test_p2_large_format_core() -> None:
    """P-2: bottom 1 1 2 3 1 2, master 2 4 2 3 2 3, control driver - - 7 4 - -: opened by master
    1 5 2 6 3 2 and change 3 1 4 3 1 5, released by control 1 5 5 4 3 2, whose other cuts operate.

    Source: Degree Key System Technical Manual, 90726:E, 2014.
    """
    made = _large_core()
    keys = {
        "master": _levels(made, "1 5 2 6 3 2"),
        "change": _levels(made, "3 1 4 3 1 5"),
        "stranger": _levels(made, "6 6 6 6 6 6"),
    }
    control = _levels(made, "1 5 5 4 3 2")
    pins = _stacks(made, "1 1 2 3 1 2", "2 4 2 3 2 3", "- - 7 4 - -")
    assert _prove_core(made, keys, control, pins).proved
    # Outside the control chambers the control key must operate: one other cut there and it fails.
    wrong = _levels(made, "2 5 5 4 3 2")
    kinds = {fault.kind for fault in _prove_core(made, keys, wrong, pins).faults}
    assert kinds == {FaultKind.CONTROL_BLOCKED}


def test_c7_every_combination_and_no_other_opens() -> None:
    """C-7, three chambers of it: pinned for 333 and 555, the proof lets exactly 2^3 keys of all
    thousand open, distance 0 (on one-step hardware, so that near keys do not count).

    Source: Keynotes, article on minimal master keying.
    """
    made = replace(us_6x10_015(), chambers=3, least_step=1, macs=9)
    bittings = list(cuttable(3, 10, 9))
    chart = AccessChart.build(
        [Door(name="d")], [Key(name=f"k{i}") for i in range(len(bittings))], {}
    )
    pins = PinnedCylinder(door="d", chambers=(PinStack(bottom=3, masters=(2,)),) * 3)
    report = prove(chart, made, [made], bittings, (), [pins])
    opened = {bittings[chart.key_index()[fault.key]] for fault in report.faults}
    assert len(bittings) == 1000
    assert opened == {b for b in bittings if set(b) <= {3, 5}}
    assert len(opened) == 8
