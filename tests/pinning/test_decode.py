"""Stacks built, taken apart and read back."""

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pinloom import pinning
from pinloom.core.bench import PartKind
from pinloom.core.hardware import BalancedDrivers, HardwareFormat
from pinloom.core.lengths import from_inch
from pinloom.core.stacks import PinnedCylinder, PinStack
from tests.pinning.kit import shipped

FORMATS = [shipped(name) for name in ("us-5x6-023", "us-6x10-015", "us-6x10-020")] + [
    shipped(name) for name in ("ic-7x10-0125", "ic-7x7-018", "ic-7x6-021")
]


@st.composite
def chambers(draw: st.DrawFn) -> tuple[HardwareFormat, int, frozenset[int], int | None]:
    """A format, a chamber, operating cuts that its pins can make, and a control cut that fits."""
    made = draw(st.sampled_from(FORMATS))
    chamber = draw(st.integers(0, made.chambers - 1))
    levels = [draw(st.integers(0, made.levels - 1))]
    while len(levels) <= made.max_masters:
        pin = draw(st.sampled_from((0, *made.master_pins)))
        if pin == 0 or levels[-1] + pin >= made.levels:
            break
        levels.append(levels[-1] + pin)
    if made.core is None:
        return made, chamber, frozenset(levels), None
    fitting = [
        control
        for control in range(made.levels)
        if control + made.core.offset - levels[-1] in made.core.buildup_sizes
    ]
    return made, chamber, frozenset(levels), draw(st.sampled_from(fitting))


def test_random_chambers_are_not_all_trivial() -> None:
    """The strategy makes chambers of one to five cuts, with and without a control line."""
    seen: set[tuple[int, bool]] = set()

    @given(chambers())
    def collect(case: tuple[HardwareFormat, int, frozenset[int], int | None]) -> None:
        seen.add((len(case[2]), case[3] is not None))

    collect()
    assert {count for count, _ in seen} >= {1, 2, 3}
    assert {core for _, core in seen} == {False, True}


@given(chambers())
def test_a_stack_decodes_to_the_cuts_it_was_built_for(
    case: tuple[HardwareFormat, int, frozenset[int], int | None],
) -> None:
    """Build, take apart into pins, measure, read back: the same stack, cuts and control cut."""
    made, chamber, levels, control = case
    stack = pinning.stack_for(made, chamber, levels, control)
    assert pinning.stack_faults(made, _alone(made, chamber, stack)) == ()
    decoded = pinning.decode(made, chamber, stack)
    assert frozenset(decoded.cuts) == levels
    assert (decoded.control, decoded.impossible) == (control, False)
    lengths = [part.length for part in pinning.describe(stack, made, chamber)[:-1]]
    # A format without driver lengths still tells its one driver.
    known = [length if length is not None else from_inch("0.18") for length in lengths]
    measured = pinning.read_pins(made, chamber, known)
    assert measured.stack == stack
    assert measured.off == 0


@given(chambers())
def test_each_allowed_key_aligns_exactly_one_joint(
    case: tuple[HardwareFormat, int, frozenset[int], int | None],
) -> None:
    """Lifting any key: the operating line meets one joint for an allowed cut and none otherwise;
    the control line meets one joint for the control cut and none otherwise.
    """
    made, chamber, levels, control = case
    stack = pinning.stack_for(made, chamber, levels, control)
    first = made.depths[0]
    assert first.bottom_pin is not None
    line = first.root + first.bottom_pin
    bottom = made.depths[stack.bottom].bottom_pin
    assert bottom is not None
    joints = [bottom]
    for pin in (*stack.masters, *([stack.buildup] if stack.buildup else [])):
        joints.append(joints[-1] + pin * made.step)
    for level, depth in enumerate(made.depths):
        on_line = sum(depth.root + joint == line for joint in joints)
        assert on_line == (1 if level in levels else 0)
        if made.core is not None:
            upper = line + made.core.offset * made.step
            assert sum(depth.root + j == upper for j in joints) == (1 if level == control else 0)


@given(chambers())
def test_balanced_stacks_are_all_equally_long(
    case: tuple[HardwareFormat, int, frozenset[int], int | None],
) -> None:
    """Where the format says so, bottom, masters, build-up and driver add up to the total."""
    made, chamber, levels, control = case
    if not isinstance(made.drivers, BalancedDrivers) or made.core is None:
        return
    stack = pinning.stack_for(made, chamber, levels, control)
    plug = made.number_of(stack.bottom) + sum(stack.masters)
    assert plug + (stack.buildup or 0) + int(stack.driver) == made.core.stack_total
    length = pinning.stack_length(made, chamber, stack)
    bare = pinning.stack_for(made, chamber, {0}, made.levels - 1)
    assert length == pinning.stack_length(made, chamber, bare)


def test_worn_pins_are_read_and_doubtful_ones_are_not() -> None:
    """With a step of 0.015 in, a pin 0.004 in short is still its size; 0.007 in is between two."""
    made = shipped("us-6x10-015")
    worn = [from_inch(text) for text in ("0.221", "0.030", "0.200")]
    measured = pinning.read_pins(made, 0, worn)
    assert measured.stack == PinStack(bottom=4, masters=(2,), driver="2")
    assert measured.off == from_inch("0.004")
    doubtful = [from_inch(text) for text in ("0.218", "0.037", "0.200")]
    read = pinning.read_pins(made, 2, doubtful)
    assert read.stack is None
    assert [(f.code, f.value("chamber"), f.value("pin")) for f in read.findings] == [
        ("pinning-pin-unread", "3", "1"),
        ("pinning-pin-unread", "3", "2"),
    ]


def test_pins_without_lengths_cannot_be_measured() -> None:
    """A format that names pins by number only has nothing to measure against."""
    made = shipped("us-6x10-015")
    bare = replace(made, depths=tuple(replace(d, bottom_pin=None) for d in made.depths))
    with pytest.raises(ValueError, match="pin lengths"):
        pinning.read_pins(bare, 0, [1, 2])


def test_thousands_of_random_stacks_come_back() -> None:
    """5,000 stacks from a plain generator: build, take apart, decode. (100,000: bench pinning.)"""
    order = random.Random(4)
    made = shipped("ic-7x10-0125")
    for _ in range(5_000):
        levels, control = random_chamber(order)
        stack = pinning.stack_for(made, 0, levels, control)
        parts = pinning.describe(stack, made, 0)
        lengths = [p.length for p in parts if p.kind is not PartKind.SPRING and p.length]
        read = pinning.read_pins(made, 0, lengths).stack
        assert read is not None
        decoded = pinning.decode(made, 0, read)
        assert (set(decoded.cuts), decoded.control) == (levels, control)


def random_chamber(order: random.Random) -> tuple[set[int], int]:
    """Operating cuts two steps apart and a control cut with a build-up pin that is made."""
    parity = order.randrange(2)
    levels = set(order.sample(range(parity, 10, 2), order.randrange(1, 5)))
    control = order.randrange(max(0, max(levels) - 8), 10)
    return levels, control


def _alone(made: HardwareFormat, chamber: int, stack: PinStack) -> PinnedCylinder:
    return PinnedCylinder(
        door="d",
        chambers=tuple(stack if c == chamber else None for c in range(made.chambers)),
    )
