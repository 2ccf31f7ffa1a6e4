"""The section drawing is asked, shape by shape, whether it says what the proof says."""

import random
from itertools import pairwise

import pytest

from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PinnedCylinder
from pinloom.hardware import load_format, shipped
from pinloom.pinning import stack_for
from pinloom.proof.lift import fit, offsets, passes
from pinloom.sheets import section_scene, to_svg
from tests.sheets.drawing import Drawn, roles

FORMATS = list(shipped())


def format_of(name: str) -> HardwareFormat:
    """A shipped format."""
    found = load_format(name).format
    assert found is not None
    return found


def cylinder_for(made: HardwareFormat, seed: int) -> tuple[PinnedCylinder, random.Random]:
    """A cylinder pinned for two keys, with a control key where the format is a core."""
    dice = random.Random(seed)
    top = made.levels - made.least_step - 1
    one = [dice.randint(0, top) for _ in range(made.chambers)]
    two = [cut + made.least_step * (place % 2) for place, cut in enumerate(one)]
    control = [(cut + made.least_step) % made.levels for cut in two]
    stacks = tuple(
        stack_for(made, c, {one[c], two[c]}, control[c] if made.core else None)
        for c in range(made.chambers)
    )
    return PinnedCylinder(door="Sail loft 3", chambers=stacks), dice


def on_line(pins: list[Drawn], line: float, tolerance: float) -> bool:
    """Whether a pin other than the driver ends at a height on paper."""
    tops = [pin.top for pin in pins if "driver" not in pin.role]
    return any(abs(top - line) <= tolerance for top in tops)


@pytest.mark.parametrize("name", FORMATS)
def test_joint_lies_on_the_line_exactly_when_the_proof_says_so(name: str) -> None:
    """In every chamber of 8 random keys, a pin is drawn with its top at the shear line when, and
    only when, the proof's own arithmetic calls the chamber passed; both answers occur.
    """
    made = format_of(name)
    seen = set()
    for seed in range(8):
        cylinder, dice = cylinder_for(made, seed)
        key = tuple(dice.randrange(made.levels) for _ in range(made.chambers))
        svg = to_svg(section_scene(made, cylinder, key, scale=3))
        (line,) = roles(svg, "shear-line")
        lay = fit(made, made)
        for chamber, stack in enumerate(cylinder.chambers):
            pins = [p for p in roles(svg, "pin") if p.data["chamber"] == str(chamber + 1)]
            told = offsets(lay, stack, lay.line)
            assert told is not None
            proved = passes(told[key[chamber]], made.step)
            tolerance = 3 * made.step / 10 / 1e6 + 1e-4
            assert on_line(pins, line.top, tolerance) == proved
            seen.add(proved)
    assert seen == {True, False}


@pytest.mark.parametrize("name", [n for n in FORMATS if n.startswith("ic-")])
def test_control_key_meets_the_second_line(name: str) -> None:
    """The control key's joints lie on the control line, drawn offset x step above the shear line
    (build-up = control + offset - plug total; *5402 Series Technical Manual*, p. 3-17).
    """
    made = format_of(name)
    cylinder, _ = cylinder_for(made, 5)
    assert made.core is not None
    control = []
    for stack in cylinder.chambers:
        assert stack is not None
        assert stack.buildup is not None
        control.append(stack.buildup + stack.cuts()[-1] - made.core.offset)
    scene = section_scene(made, cylinder, control, at_control=True, scale=3)
    svg = to_svg(scene)
    assert scene.told.startswith("The key turns")
    (line,), (shear,) = roles(svg, "control-line"), roles(svg, "shear-line")
    assert shear.top - line.top == pytest.approx(3 * made.core.offset * made.step / 1e6, abs=1e-3)
    for chamber in range(made.chambers):
        pins = [p for p in roles(svg, "pin") if p.data["chamber"] == str(chamber + 1)]
        assert on_line(pins, line.top, 1e-3)


@pytest.mark.published
def test_drawn_key_has_the_published_roots_and_places() -> None:
    """us-6x10-015, cuts 0 4 7 0 7 4: roots .335 .275 .230, first cut .231 in from the shoulder,
    .1562 in apart (lockpicking101.com f=9 t=57422; kc.allegion.com, "combinating rule 15"). Read
    from the drawn outline to 0.0001 in.
    """
    made = format_of("us-6x10-015")
    cylinder, _ = cylinder_for(made, 1)
    key = (0, 4, 7, 0, 7, 4)
    svg = to_svg(section_scene(made, cylinder, key, scale=1))
    (blade,) = roles(svg, "key")
    edge = [tuple(map(float, p.split(","))) for p in blade.data["edge"].split()]
    for place, root in zip(
        (0.231, 0.3872, 0.5434, 0.6996, 0.8558, 1.0120),
        (0.335, 0.275, 0.230, 0.335, 0.230, 0.275),
        strict=True,
    ):
        assert height_at(edge, place * 25.4) == pytest.approx(root * 25.4, abs=0.00254)
    drawn = [x for x, _ in blade.points]
    assert max(drawn) - min(drawn) == pytest.approx(edge[-1][0], abs=1e-4)


def height_at(edge: list[tuple[float, ...]], x: float) -> float:
    """Height of a chain of straight lines at a place."""
    for (x1, h1), (x2, h2) in pairwise(edge):
        if x1 <= x <= x2:
            return h1 + (h2 - h1) * (x - x1) / (x2 - x1)
    raise AssertionError(f"{x} lies beyond the key")


def test_held_chambers_are_said_in_words() -> None:
    """One cut three steps too deep in chamber 2: the words name chamber 2, the row says HELD."""
    made = format_of("us-6x10-015")
    stacks = tuple(stack_for(made, c, {4}) for c in range(6))
    cylinder = PinnedCylinder(door="Slipway gate", chambers=stacks)
    scene = section_scene(made, cylinder, (4, 7, 4, 4, 4, 4), key_name="B2")
    assert scene.told == "Key B2 is held by chamber 2 (3 steps): no joint near the shear line."
    said = [one for one in roles(to_svg(scene), "row") if one.data["row"] == "so it is"]
    assert [one.text for one in said] == ["free", "HELD", "free", "free", "free", "free"]


def test_one_step_off_in_a_two_step_format_counts_as_opening() -> None:
    """Cuts one step off in a format whose least step is two: the drawing does not call it held."""
    made = format_of("us-6x10-015")
    stacks = tuple(stack_for(made, c, {4}) for c in range(6))
    cylinder = PinnedCylinder(door="Slipway gate", chambers=stacks)
    scene = section_scene(made, cylinder, (5, 4, 4, 3, 4, 4))
    assert "counts as opening" in scene.told


def test_names_are_text_and_never_markup() -> None:
    """A door called <script> stands in the SVG as text only."""
    made = format_of("us-5x6-023")
    stacks = tuple(stack_for(made, c, {2}) for c in range(5))
    cylinder = PinnedCylinder(door='<script a="1">&', chambers=stacks)
    svg = to_svg(section_scene(made, cylinder, (2,) * 5, key_name="<b>"))
    assert "<script" not in svg
    assert "<b>" not in svg
    assert roles(svg, "key")


def test_what_is_not_known_is_marked() -> None:
    """A format without plug diameter has a broken plug line and says so; with one it is solid."""
    made = format_of("us-5x6-023")
    stacks = tuple(stack_for(made, c, {2}) for c in range(5))
    cylinder = PinnedCylinder(door="Store", chambers=stacks)
    scene = section_scene(made, cylinder, (2,) * 5)
    assert "diameter of the plug" in scene.schematic
    assert 'class="plug" d=' in to_svg(scene)
    plug = next(line for line in to_svg(scene).splitlines() if 'class="plug"' in line)
    assert "stroke-dasharray" in plug
