"""Pins, cores and top masters against published tables. (K-1's pins: tests/pinning/test_job.py.)"""

from itertools import pairwise, product

import pytest

from pinloom import pinning
from pinloom.core.bitting import keeps_macs
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Severity
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.proof import prove
from tests.pinning.kit import bittings_of, chart_of, cuts, own, shipped

pytestmark = pytest.mark.published

# The arithmetic of P-1 and P-2 is on pin numbers; lengths and places here are invented.
_NUMBERS = """
unit = "mm"
chambers = 6
reading = "bow to tip"
stop = "shoulder"
step = 0.6
first_cut = 5
spacing = 4
macs = 5
least_step = 1
masters = [0.6, 1.2, 1.8, 2.4, 3.0]
[depths]
numbers = [1, 2, 3, 4, 5, 6]
roots = [8, 7.4, 6.8, 6.2, 5.6, 5]
[drivers]
total = 10
"""
PLAIN = own('name = "balanced-6x6"' + _NUMBERS)
LARGE = own(
    'name = "large-6x6"'
    + _NUMBERS
    + """
[core]
kind = "large format"
offset = 6
stack_total = 13
control_chambers = [3, 4]
buildups = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]
"""
)
SMALL = shipped("ic-6x10-0125")


def pin_one(
    made: HardwareFormat, keys: dict[str, str], control: str = ""
) -> tuple[AccessChart, PinnedCylinder]:
    """One door that all the keys open."""
    chart = chart_of({"d": " ".join(keys)})
    controls = (ControlKey(group="", levels=cuts(made, control)),) if control else ()
    job = pinning.pin_job(chart, made, [made], bittings_of(chart, made, keys), controls)
    assert [f for f in job.findings if f.severity is Severity.FAULT] == []
    return chart, job.cylinders[0]


def row(made: HardwareFormat, cylinder: PinnedCylinder) -> dict[str, str]:
    """Pins by number, chamber by chamber, as the tables print them; a dash for none."""
    stacks = [stack for stack in cylinder.chambers if stack is not None]
    assert len(stacks) == made.chambers
    return {
        "bottom": " ".join(str(made.number_of(stack.bottom)) for stack in stacks),
        "master": " ".join("+".join(map(str, stack.masters)) or "-" for stack in stacks),
        "build-up": " ".join("-" if s.buildup is None else str(s.buildup) for s in stacks),
        "driver": " ".join(stack.driver for stack in stacks),
    }


def test_p1_conventional_stack() -> None:
    """P-1: master key 123464, change key 345222."""
    # *Degree Key System Technical Manual*, 90726:E, 2014, p. 4.
    _, cylinder = pin_one(PLAIN, {"master": "123464", "change": "345222"})
    assert row(PLAIN, cylinder) == {
        "bottom": "1 2 3 2 2 2",
        "master": "2 2 2 2 4 2",
        "build-up": "- - - - - -",
        "driver": "7 6 5 6 4 6",
    }


def test_p2_large_format_core() -> None:
    """P-2: control 155432, master 152632, change 314315, control in chambers 3 and 4."""
    # *Degree Key System Technical Manual*, 90726:E, 2014, p. 4 ff., the same manual.
    _, cylinder = pin_one(LARGE, {"master": "152632", "change": "314315"}, control="155432")
    assert row(LARGE, cylinder) == {
        "bottom": "1 1 2 3 1 2",
        "master": "2 4 2 3 2 3",
        "build-up": "- - 7 4 - -",
        "driver": "7 5 2 3 7 5",
    }


I1_ROWS = {
    "742836": ("5 2 2 6 1 4", "2 2 6 2 2 2", "12 12 2 6 14 12"),
    "304052": ("3 0 4 0 1 2", "2 2 4 6 4 2", "14 14 2 8 12 14"),
    "186290": ("1 2 6 2 1 0", "4 6 2 4 8 4", "14 8 2 8 8 14"),
    None: ("5 2 8 6 1 4", "- - - - - -", "14 14 2 8 16 14"),
}


@pytest.mark.parametrize("change", I1_ROWS)
def test_i1_small_format_core(change: str | None) -> None:
    """I-1: control 960478, top master 528614; every row, and the top pins of all of them."""
    # *5402 Series Technical Manual* (small-format cores), pp. 3-17, 3-19.
    keys = {"TMK": "528614"} | ({"change": change} if change else {})
    _, cylinder = pin_one(SMALL, keys, control="960478")
    bottom, master, buildup = I1_ROWS[change]
    assert row(SMALL, cylinder) == {
        "bottom": bottom,
        "master": master,
        "build-up": buildup,
        "driver": "4 7 13 9 6 5",
    }


def test_i1_table_is_proved_at_both_lines() -> None:
    """The four cores of I-1 in one job: each key does what the chart says, control included."""
    keys = {"TMK": "528614", "a": "742836", "b": "304052", "c": "186290"}
    chart = chart_of({"1": "TMK a", "2": "TMK b", "3": "TMK c", "4": "TMK"})
    bittings = bittings_of(chart, SMALL, keys)
    controls = (ControlKey(group="", levels=cuts(SMALL, "960478")),)
    job = pinning.pin_job(chart, SMALL, [SMALL] * 4, bittings, controls)
    report = prove(chart, SMALL, [SMALL] * 4, bittings, controls, job.cylinders)
    assert report.proved
    assert pinning.check_controls(chart, SMALL, [SMALL] * 4, bittings, controls) == ()


@pytest.mark.parametrize(
    ("name", "offset", "total"),
    # *5402 Series Technical Manual*, p. 3-20 (A4); the A3 row is from memory.
    [("ic-7x6-021", 6, 14), ("ic-7x7-018", 7, 16)],
)
def test_i2_one_step_cores(name: str, offset: int, total: int) -> None:
    """I-2: build-up = control + offset - plug total, and every stack adds up to the total."""
    made = shipped(name)
    _, cylinder = pin_one(made, {"TMK": "1203142", "change": "2420314"}, control="4314025")
    for stack, control in zip(cylinder.chambers, (4, 3, 1, 4, 0, 2, 5), strict=True):
        assert stack is not None
        plug = stack.bottom + sum(stack.masters)
        assert stack.buildup == control + offset - plug
        assert plug + stack.buildup + int(stack.driver) == total


def test_i3_impossible_control_cut_is_refused() -> None:
    """I-3: an A2 stack 5, 2, 14, 2 implies a control cut of 11."""
    # lockpicking101.com forum f=9 t=50294, March 2011.
    stack = PinStack(bottom=5, masters=(2,), buildup=14, driver="2")
    decoded = pinning.decode(SMALL, 0, stack)
    assert (decoded.cuts, decoded.control, decoded.impossible) == ((5, 7), 11, True)
    cylinder = PinnedCylinder(door="d", chambers=(stack,) + (None,) * 5)
    found = pinning.stack_faults(SMALL, cylinder)
    assert [finding.code for finding in found] == ["pinning-impossible-control"]
    assert found[0].severity is Severity.FAULT
    assert found[0].value("number") == "11"


@pytest.mark.parametrize(
    ("stamped", "code"),
    [
        ("988789", "pinning-master-uniform"),
        ("120112", "pinning-master-uniform"),
        ("976642", "pinning-master-declining"),
    ],
)
def test_p6_bad_top_masters(stamped: str, code: str) -> None:
    """P-6: the manual's examples of bad top masters are named as such, as notes only."""
    # *Peaks Preferred* manual, p. 4-9.
    found = pinning.top_master_advice(SMALL, "TMK", cuts(SMALL, stamped))
    assert code in [finding.code for finding in found]
    assert {finding.severity for finding in found} == {Severity.NOTE}


def test_p6_good_top_master_and_its_chambers() -> None:
    """A top master with a shallowest cut in a progressed chamber and a deepest cut has no note;
    the same cut in a chamber that is not progressed does not count.
    """
    levels = cuts(SMALL, "409527")
    assert pinning.top_master_advice(SMALL, "TMK", levels, (0, 1, 2)) == ()
    assert pinning.top_master_advice(SMALL, "TMK", levels, (0, 1)) == ()  # the 9 may stand anywhere
    codes = [f.code for f in pinning.top_master_advice(SMALL, "TMK", levels, (0, 2, 3))]
    assert codes == ["pinning-master-no-shallow"]


def test_p6_control_differs_from_the_top_master_everywhere() -> None:
    """A chosen control key keeps the least step from the top master in every chamber."""
    keys = {"TMK": "528614", "a": "742836", "b": "304052"}
    chart = chart_of({"1": "TMK a", "2": "TMK b"})
    bittings = bittings_of(chart, SMALL, keys)
    chosen = pinning.choose_controls(chart, SMALL, [SMALL] * 2, bittings)
    assert chosen.findings == ()
    master = cuts(SMALL, "528614")
    for control in chosen.controls:
        assert all(abs(a - b) >= 2 for a, b in zip(control.levels, master, strict=True))


def test_t3a_progressives_of_a_top_master() -> None:
    """T-3a: under top master 528614 the array holds 742836, 304052, 186290, 960478; 4,096
    combinations, 676 with a neighbouring 0 and 9, 1,069 that break MACS 7.
    """
    # *5402 Series Technical Manual*, p. 3-19; the last two counts are derived.
    array = pinning.progressives(SMALL, cuts(SMALL, "528614"))
    rows = ["742836", "304052", "186290", "960478"]
    assert [set(column) for column in array] == [set(map(int, c)) for c in zip(*rows, strict=True)]
    keys = list(product(*array))
    assert len(keys) == 4_096
    assert sum(any({a, b} == {0, 9} for a, b in pairwise(key)) for key in keys) == 676
    assert sum(not keeps_macs(key, 7) for key in keys) == 1_069


def test_c10_a_two_step_master_fixes_one_parity_pattern() -> None:
    """C-10: 2^6 = 64 parity patterns in six chambers; every key under a master has its pattern."""
    # *5402 Series Technical Manual*, p. 3-17.
    patterns = set()
    for master in product((0, 1), repeat=6):
        array = pinning.progressives(SMALL, master)
        kept = {tuple(level % 2 for level in key) for key in product(*(a[:2] for a in array))}
        assert kept == {master}
        patterns |= kept
    assert len(patterns) == 64
