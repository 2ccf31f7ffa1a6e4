"""Control keys: chosen for a job, checked as given, proved at both shear lines."""

import random
from itertools import product

import pytest

from pinloom import pinning
from pinloom.core.bitting import Bitting, keeps_macs
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.messages import line
from pinloom.pinning.controlspace import control_space
from pinloom.proof import prove
from tests.pinning.kit import bittings_of, chart_of, cuts, own, shipped

SEVEN = shipped("ic-7x10-0125")
LARGE = own("""
name = "large-6x6"
unit = "mm"
chambers = 6
reading = "bow to tip"
stop = "shoulder"
step = 0.6
first_cut = 5
spacing = 4
macs = 4
least_step = 1
masters = [0.6, 1.2, 1.8, 2.4, 3.0]
[depths]
numbers = [1, 2, 3, 4, 5, 6]
roots = [8, 7.4, 6.8, 6.2, 5.6, 5]
[drivers]
total = 10
[core]
kind = "large format"
offset = 6
stack_total = 13
control_chambers = [3, 4]
buildups = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]
""")


def tree(
    made: HardwareFormat, count: int, seed: int, groups: tuple[str, ...] = ("",)
) -> tuple[AccessChart, tuple[Bitting, ...]]:
    """A top master over ``count`` doors with a change key each, two steps from it everywhere it
    moves; doors take turns in the core groups.
    """
    order = random.Random(seed)
    step = made.least_step
    master = tuple(order.randrange(made.levels) for _ in range(made.chambers))
    while not keeps_macs(master, made.macs):
        master = tuple(order.randrange(made.levels) for _ in range(made.chambers))
    moved = (0, 1, 2, made.chambers - 1)
    keys: set[Bitting] = set()
    while len(keys) < count:
        key = list(master)
        for position in moved:
            options = [
                level
                for level in range(made.levels)
                if level != master[position] and (level - master[position]) % step == 0
            ]
            key[position] = order.choice(options)
        if keeps_macs(key, made.macs):
            keys.add(tuple(key))
    named = {f"k{i}": key for i, key in enumerate(sorted(keys))}
    chart = chart_of(
        {f"d{i}": f"TMK k{i}" for i in range(count)},
        *(Door(name=f"d{i}", core_group=groups[i % len(groups)]) for i in range(count)),
    )
    bittings = {"TMK": master, **named}
    return chart, tuple(bittings[key.name] for key in chart.keys)


def prove_job(
    chart: AccessChart,
    made: HardwareFormat,
    bittings: tuple[Bitting, ...],
    controls: tuple[ControlKey, ...],
) -> bool:
    """Whether pins and proof agree with the chart at both shear lines."""
    formats = [made] * len(chart.doors)
    job = pinning.pin_job(chart, made, formats, bittings, controls)
    report = prove(chart, made, formats, bittings, controls, job.cylinders)
    return report.proved


@pytest.mark.parametrize("name", ["ic-7x10-0125", "ic-6x10-0125", "ic-7x7-018", "ic-6x6-021"])
@pytest.mark.parametrize("seed", range(3))
def test_chosen_small_format_control_is_proved(name: str, seed: int) -> None:
    """In each small-format arithmetic the chosen key turns every core's sleeve and nothing else,
    and differs from the top master in every chamber.
    """
    made = shipped(name)
    chart, bittings = tree(made, 25, seed)
    chosen = pinning.choose_controls(chart, made, [made] * 25, bittings, seed=seed)
    assert chosen.findings == ()
    assert prove_job(chart, made, bittings, chosen.controls)
    master = bittings[chart.key_index()["TMK"]]
    levels = chosen.controls[0].levels
    assert keeps_macs(levels, made.macs)
    assert all(abs(a - b) >= made.least_step for a, b in zip(levels, master, strict=True))


@pytest.mark.parametrize("seed", range(4))
def test_chosen_large_format_control_is_proved(seed: int) -> None:
    """The large kind acts in its two chambers and carries the master's cuts elsewhere; proved."""
    order = random.Random(seed)
    master = (2, 4, 1, 3, 2, 4)
    moves = [(a, b) for a in (0, 1, 3, 4) for b in (1, 2, 3, 5)]
    order.shuffle(moves)
    named: dict[str, Bitting] = {"TMK": master}
    for number, (first, last) in enumerate(moves[:12]):
        named[f"k{number}"] = (first, 4, order.choice([0, 1, 3]), 3, 2, last)
    chart = chart_of({f"d{i}": f"TMK k{i}" for i in range(12)})
    bittings = tuple(named[key.name] for key in chart.keys)
    chosen = pinning.choose_controls(chart, LARGE, [LARGE] * 12, bittings, seed=seed)
    assert chosen.findings == ()
    levels = chosen.controls[0].levels
    assert [levels[p] for p in (0, 1, 4, 5)] == [2, 4, 2, 4]
    assert prove_job(chart, LARGE, bittings, chosen.controls)


def test_groups_have_control_keys_of_their_own() -> None:
    """Two core groups in one job: two keys, each draws its own cores only."""
    chart, bittings = tree(SEVEN, 20, 5, groups=("east", "west"))
    chosen = pinning.choose_controls(chart, SEVEN, [SEVEN] * 20, bittings)
    assert [control.group for control in chosen.controls] == ["east", "west"]
    assert prove_job(chart, SEVEN, bittings, chosen.controls)
    swapped = tuple(
        ControlKey(group=one.group, levels=other.levels)
        for one, other in zip(chosen.controls, chosen.controls[::-1], strict=True)
    )
    formats = [SEVEN] * 20
    pins = pinning.pin_job(chart, SEVEN, formats, bittings, chosen.controls).cylinders
    assert not prove(chart, SEVEN, formats, bittings, swapped, pins).proved


def test_the_choice_repeats_and_the_seed_changes_it() -> None:
    """Same job and seed, same control key; another seed, another key."""
    chart, bittings = tree(SEVEN, 10, 1)
    keys = [
        pinning.choose_controls(chart, SEVEN, [SEVEN] * 10, bittings, seed=seed).controls
        for seed in (0, 0, 1)
    ]
    assert keys[0] == keys[1] != keys[2]


def test_given_cuts_are_kept() -> None:
    """Cuts given for some positions stay; a key given whole is taken as it is."""
    chart, bittings = tree(SEVEN, 10, 2)
    free = pinning.choose_controls(chart, SEVEN, [SEVEN] * 10, bittings).controls[0].levels
    given = (free[0], None, free[2], None, None, None, None)
    chosen = pinning.choose_controls(chart, SEVEN, [SEVEN] * 10, bittings, [("", given)])
    assert (chosen.controls[0].levels[0], chosen.controls[0].levels[2]) == (free[0], free[2])
    whole = pinning.choose_controls(chart, SEVEN, [SEVEN] * 10, bittings, [("", free)], seed=9)
    assert whole.controls[0].levels == free


KEYS = {"TMK": "5286140", "a": "7428360", "b": "3040520"}
CHART = chart_of({"1": "TMK a", "2": "TMK b"})
BITTINGS = bittings_of(CHART, SEVEN, KEYS)


@pytest.mark.parametrize(
    ("control", "expected"),
    [
        ("9604785", []),
        ("5604785", ["pinning-control-near-master"]),
        ("7428360", ["pinning-control-near-master", "pinning-control-operates"]),
    ],
)
def test_given_control_keys_are_checked(control: str, expected: list[str]) -> None:
    """A control key next to the top master is a caution, an operating key's cuts are a fault."""
    controls = (ControlKey(group="", levels=cuts(SEVEN, control)),)
    found = pinning.check_controls(CHART, SEVEN, [SEVEN] * 2, BITTINGS, controls)
    assert [finding.code for finding in found] == expected
    assert all(line(finding) for finding in found)


def test_control_keys_that_cannot_be_cut_or_are_alike() -> None:
    """MACS and equal control keys of two groups are faults."""
    made = shipped("us-6x10-015")
    chart = chart_of({"d": "a"})
    bittings = bittings_of(chart, made, {"a": "123456"})
    steep = (ControlKey(group="", levels=cuts(made, "091234")),)
    found = pinning.check_controls(chart, made, [made], bittings, steep)
    assert "pinning-control-macs" in [finding.code for finding in found]
    twice = tuple(ControlKey(group=g, levels=cuts(SEVEN, "9604785")) for g in ("a", "b"))
    found = pinning.check_controls(CHART, SEVEN, [SEVEN] * 2, BITTINGS, twice)
    assert "pinning-control-twice" in [finding.code for finding in found]


def test_a_given_cut_without_room_is_named() -> None:
    """A fixed cut equal to the top master's is refused with its position."""
    given = (5, None, None, None, None, None, None)
    chosen = pinning.choose_controls(CHART, SEVEN, [SEVEN] * 2, BITTINGS, [("", given)])
    assert [(f.code, f.value("position")) for f in chosen.findings] == [
        ("pinning-control-position", "1")
    ]
    assert chosen.controls == ()


def test_no_control_key_and_gave_up_are_told_apart() -> None:
    """With every level of a position taken there is none; with a budget of one it gave up."""
    made = shipped("ic-6x6-021")
    # Every possible pair of cuts in positions 1 and 2 is an operating key of some core.
    keys = {f"k{a}{b}": (a, b, 2, 2, 2, 2) for a in range(6) for b in range(6)}
    chart = chart_of({name: name for name in keys})
    bittings = tuple(keys[key.name] for key in chart.keys)
    fixed = (None, None, 2, 2, 2, 2)
    formats = [made] * len(keys)
    none = pinning.choose_controls(chart, made, formats, bittings, [("", fixed)])
    assert [f.code for f in none.findings] == ["pinning-control-none"]
    gave_up = pinning.choose_controls(chart, made, formats, bittings, [("", fixed)], budget=1)
    assert [f.code for f in gave_up.findings] == ["pinning-control-gave-up"]


def test_large_format_without_a_common_cut_is_refused() -> None:
    """Two doors that share no key: no control key can operate both outside its chambers."""
    chart = chart_of({"d": "a", "e": "b"})
    bittings = bittings_of(chart, LARGE, {"a": "123456", "b": "234561"})
    chosen = pinning.choose_controls(chart, LARGE, [LARGE] * 2, bittings)
    assert [(f.code, f.value("door")) for f in chosen.findings] == [
        ("pinning-control-elsewhere", "e")
    ]


def test_margin_agrees_with_the_proof_on_random_control_keys() -> None:
    """For random control keys on small jobs: what the space calls acceptable is proved, always."""
    made = shipped("ic-6x10-0125")
    order = random.Random(7)
    accepted = 0
    for seed in range(40):
        chart, bittings = tree(made, 3, seed)
        formats = [made] * 3
        levels = tuple(order.randrange(10) for _ in range(6))
        given = [("", (*levels[:3], None, None, None))]
        chosen = pinning.choose_controls(chart, made, formats, bittings, given, budget=200)
        if chosen.controls:
            accepted += 1
            assert prove_job(chart, made, bittings, chosen.controls)
    assert accepted > 5


TINY = """
name = "tiny-3x4-030"
unit = "mm"
chambers = 3
reading = "bow to tip"
stop = "shoulder"
step = 0.4
first_cut = 4
spacing = 4
macs = 3
least_step = 2
masters = [0.8, 1.2]
[depths]
numbers = [0, 1, 2, 3]
roots = [8, 7.6, 7.2, 6.8]
[drivers]
total = 9
[core]
offset = 4
stack_total = 9
buildups = [2, 3, 4, 5, 6, 7]
"""
TINY_SMALL = own(TINY + 'kind = "small format"')
TINY_LARGE = own(TINY + 'kind = "large format"\ncontrol_chambers = [2, 3]')


@pytest.mark.parametrize("made", [TINY_SMALL, TINY_LARGE], ids=["small", "large"])
def test_every_accepted_control_key_of_a_tiny_format_is_proved(made: HardwareFormat) -> None:
    """On random jobs, for every control key that exists: what the space accepts brings no fault.

    Cuts 0 under a deepest cut of 3, and 3 beside a control cut of 0, come within the least step of
    the other line, so both edges take part.
    """
    order = random.Random(3)
    jobs = accepted = refused = 0
    while jobs < 60:
        depths = [order.choice([(0, 2), (1, 3), (0, 3)]) for _ in range(3)]
        keys = {f"k{i}": tuple(order.choice(pair) for pair in depths) for i in range(3)}
        chart = chart_of({"d": order.choice(["k0", "k0 k1"]), "e": "k1", "f": "k2"})
        bittings = tuple(keys[key.name] for key in chart.keys)
        formats = [made] * len(chart.doors)
        bare = pinning.pin_job(chart, made, formats, bittings).cylinders
        faults = prove(chart, made, formats, bittings, (), bare).faults
        if any(fault.kind.value in ("opens", "blocked") for fault in faults):
            continue
        if any(
            pin not in made.master_pins for c in bare for s in c.chambers if s for pin in s.masters
        ):
            continue
        jobs += 1
        space = control_space(chart, made, formats, bittings, None, ())
        for levels in product(*space.allowed):
            if space.margin(levels) < made.least_step:
                refused += 1
                continue
            accepted += 1
            controls = (ControlKey(group="", levels=levels),)
            assert prove_job(chart, made, bittings, controls), (keys, levels)
    assert accepted > 20
    assert refused > 50


def small_and_plain(made: HardwareFormat) -> tuple[AccessChart, list[HardwareFormat]]:
    """Door d a core for key a; key b is reserved, and so opens nothing."""
    chart = AccessChart.build(
        [Door(name="d")],
        [Key(name="a"), Key(name="b", standing=KeyStanding.RESERVED)],
        {"d": ["a"]},
    )
    return chart, [made]


def test_the_build_up_joint_may_not_let_a_key_operate() -> None:
    """Control cut 0 puts the build-up's joint one step above the deepest cut of another key, which
    chamber 1 alone keeps out: such a control cut is not allowed, and the proof agrees.
    """
    chart, formats = small_and_plain(TINY_SMALL)
    bittings = ((0, 0, 0), (3, 0, 0))
    space = control_space(chart, TINY_SMALL, formats, bittings, None, ())
    assert 0 not in space.allowed[0]
    assert 1 in space.allowed[0]
    for first, proved in ((0, False), (1, True)):
        controls = (ControlKey(group="", levels=(first, 2, 2)),)
        assert prove_job(chart, TINY_SMALL, bittings, controls) is proved


def test_a_key_that_is_near_outside_the_control_chambers_is_a_rival() -> None:
    """Large format: key b is one step off in chamber 1, where the control does not act, and so must
    keep apart in chambers 2 and 3; the proof agrees.
    """
    chart, formats = small_and_plain(TINY_LARGE)
    bittings = ((1, 0, 0), (2, 2, 2))
    space = control_space(chart, TINY_LARGE, formats, bittings, None, ())
    for levels, apart in (((1, 2, 2), False), ((1, 2, 3), False), ((1, 0, 3), True)):
        assert (space.margin(levels) >= 2) is apart
        controls = (ControlKey(group="", levels=levels),)
        assert prove_job(chart, TINY_LARGE, bittings, controls) is apart
