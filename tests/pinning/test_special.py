"""Special cylinders and construction keys."""

from dataclasses import replace
from itertools import product

import pytest

from pinloom import pinning
from pinloom.core.bitting import Bitting, keeps_macs
from pinloom.core.chart import NMK, AccessChart, Door, Key, KeyStanding
from pinloom.core.job import ControlKey
from pinloom.messages import line
from pinloom.pinning import Construction, ConstructionMethod
from pinloom.proof import prove
from tests.pinning.kit import bittings_of, chart_of, cuts, own, shipped

SIX = shipped("us-6x10-015")


def special(chart: AccessChart, keys: dict[str, str]) -> list[tuple[str, str]]:
    """(code, first value) of what is said about special cylinders."""
    formats = [shipped(door.hardware or SIX.name) for door in chart.doors]
    found = pinning.special_cylinders(chart, SIX, formats, bittings_of(chart, SIX, keys))
    assert all(line(finding) for finding in found)
    return [(finding.code, finding.values[0][1]) for finding in found]


def test_each_special_cylinder_has_its_caution() -> None:
    """One door of each kind; a plain master-keyed door has nothing said about it."""
    chart = chart_of(
        {"1": "TMK a", "2": "b", "3": "TMK a", "4": "TMK c", "5": "c", "6": "TMK d"},
        Door(name="3", unpinned=(6,)),
        Door(name="4", cylinder="Padlock, long shackle"),
        Door(name="5", excepted=(NMK,)),
        Door(name="6", hardware="us-5x10-015"),
    )
    keys = {"TMK": "123456", "a": "323456", "b": "523456", "c": "143456", "d": "125456"}
    assert special(chart, keys) == [
        ("pinning-single-keyed", "2"),
        ("pinning-unpinned", "3"),
        ("pinning-padlock", "4"),
        ("pinning-not-master-keyed", "5"),
        ("pinning-other-hardware", "us-5x10-015"),
    ]
    assert special(chart_of({"1": "TMK a", "2": "TMK b"}), keys) == []


def test_keyed_alike_groups() -> None:
    """Doors of the same keys, and a door of several cylinders, are groups; a plain door is none."""
    chart = chart_of({"1": "a b", "2": "b", "3": "a b", "4": "a"}, Door(name="4", count=2))
    found = [(f.value("doors"), f.value("cylinders")) for f in pinning.keyed_alike(chart)]
    assert found == [("1, 3", "2"), ("4", "2")]


def test_doors_outside_some_masters() -> None:
    """Named masters are named in the caution."""
    chart = chart_of({"1": "a b", "2": "b"}, Door(name="2", excepted=("TMK", "B")))
    keys = {"a": "123456", "b": "323456"}
    assert ("pinning-excepted", "2") in special(chart, keys)


@pytest.mark.parametrize("unpinned", [(), (1,), (2, 4)])
def test_what_an_unpinned_chamber_costs(unpinned: tuple[int, ...]) -> None:
    """Counted combinations equal those of a walk through every key of a small format."""
    made = own("""
name = "tiny-4x5-030"
unit = "mm"
chambers = 4
reading = "bow to tip"
stop = "shoulder"
step = 0.75
first_cut = 4
spacing = 4
macs = 2
least_step = 1
masters = [0.75, 1.5, 2.25]
[depths]
numbers = [1, 2, 3, 4, 5]
roots = [8, 7.25, 6.5, 5.75, 5]
""")
    keys: list[Bitting] = [(0, 2, 1, 3), (1, 2, 1, 1), (4, 3, 2, 1)]
    expected = sum(
        keeps_macs(levels, 2)
        and all(
            c in unpinned or levels[c - 1] in {key[c - 1] for key in keys} for c in (1, 2, 3, 4)
        )
        for levels in product(range(5), repeat=4)
    )
    assert pinning.operating_keys(made, made, keys, unpinned) == expected


# --- construction ---------------------------------------------------------------------------------

ROWS = {"1": "TMK a", "2": "TMK b", "3": "TMK c", "4": "TMK a b c"}
KEYS = {"TMK": "345343", "a": "545343", "b": "365343", "c": "347343"}
CHART = chart_of(ROWS)
BITTINGS = bittings_of(CHART, SIX, KEYS)


def both_states_proved(made: Construction, controls: tuple[ControlKey, ...] = ()) -> bool:
    """Whether the job is proved before and after the changeover."""
    formats = [SIX] * len(CHART.doors)
    return all(
        prove(state.chart, SIX, formats, state.bittings, controls, state.cylinders).proved
        for state in (made.before, made.after)
    )


@pytest.mark.parametrize("method", list(ConstructionMethod))
def test_construction_key_is_proved_before_and_after(method: ConstructionMethod) -> None:
    """While building the key opens every door, afterwards none; nothing else changes."""
    made = pinning.construct(CHART, SIX, [SIX] * 4, BITTINGS, method)
    assert isinstance(made, Construction)
    assert both_states_proved(made)
    owners = pinning.pin_job(CHART, SIX, [SIX] * 4, BITTINGS).cylinders
    assert made.after.cylinders == owners
    assert {change.door for change in made.changes} == set(ROWS)
    assert {change.chamber for change in made.changes} == {made.position + 1}
    assert all(line(finding) for finding in made.findings)


def test_split_pin_lies_below_the_owners_bottom_pin() -> None:
    """The two pieces taken out are together as long as the bottom pin put in."""
    made = pinning.construct(CHART, SIX, [SIX] * 4, BITTINGS, ConstructionMethod.SPLIT_PIN)
    assert isinstance(made, Construction)
    for change in made.changes:
        out = sum(part.length or 0 for part in change.out)
        into = sum(part.length or 0 for part in change.into)
        assert [part.kind.value for part in change.into] == ["bottom"]
        assert [part.kind.value for part in change.out] == ["bottom", "master"]
        assert out == into


def test_construction_key_for_some_doors_only() -> None:
    """Named doors take it; the others are pinned as they were and keep it out."""
    made = pinning.construct(
        CHART, SIX, [SIX] * 4, BITTINGS, ConstructionMethod.RESERVED_CHAMBER, doors=["1", "2"]
    )
    assert isinstance(made, Construction)
    assert both_states_proved(made)
    assert {change.door for change in made.changes} == {"1", "2"}


def test_no_construction_key_is_said_with_the_reason() -> None:
    """Doors without a common cut, and a job that leaves no chamber free."""
    chart = chart_of({"1": "a", "2": "b"})
    apart = bittings_of(chart, SIX, {"a": "123456", "b": "345678"})
    method = ConstructionMethod.RESERVED_CHAMBER
    found = pinning.construct(chart, SIX, [SIX] * 2, apart, method)
    assert not isinstance(found, Construction)
    assert [(f.code, f.value("door")) for f in found] == [("pinning-construction-no-cut", "2")]
    keys = {f"k{n}": f"{n}" * 6 for n in (0, 2, 4, 6, 8)} | {"TMK": "135797"}
    full = chart_of({"1": "TMK"} | {f"d{k}": f"TMK {k}" for k in keys if k != "TMK"})
    none = pinning.construct(full, SIX, [SIX] * 6, bittings_of(full, SIX, keys), method)
    assert not isinstance(none, Construction)
    assert [finding.code for finding in none] == ["pinning-construction-no-chamber"]
    assert all(line(finding) for finding in (*found, *none))


def test_a_door_without_the_reserved_chamber_must_keep_the_key_out_elsewhere() -> None:
    """Door 5 shares TMK and leaves chamber 6 unpinned: a key reserved there would open it, so
    another chamber is taken; the result is proved.
    """
    chart = chart_of(ROWS | {"5": "TMK"}, Door(name="5", unpinned=(6,)))
    bittings = bittings_of(chart, SIX, KEYS)
    formats = [SIX] * 5
    for method in ConstructionMethod:
        made = pinning.construct(chart, SIX, formats, bittings, method, doors=["1", "2", "3", "4"])
        assert isinstance(made, Construction)
        for state in (made.before, made.after):
            assert prove(state.chart, SIX, formats, state.bittings, (), state.cylinders).proved


def test_the_temporary_cut_keeps_away_from_keys_of_other_doors() -> None:
    """Key z opens door 3 alone and is kept out of doors 1 and 2 by chamber 1, where its cut is 1: a
    temporary cut of 0 there would let it in, so it is not taken; the result is proved.
    """
    chart = chart_of({"1": "TMK a", "2": "TMK b", "3": "z"})
    keys = {"TMK": "345343", "a": "545343", "b": "365343", "z": "145343"}
    bittings = bittings_of(chart, SIX, keys)
    for method in ConstructionMethod:
        made = pinning.construct(chart, SIX, [SIX] * 3, bittings, method, doors=["1", "2"])
        assert isinstance(made, Construction)
        state = made.before
        assert prove(state.chart, SIX, [SIX] * 3, state.bittings, (), state.cylinders).proved


def test_the_only_free_chamber_must_be_pinned_in_all_other_doors() -> None:
    """Reserved keys take up chambers 1 to 5. Chamber 6 serves, unless a door of other keys leaves
    it unpinned: the construction key would open that door for ever.
    """
    doors = [Door(name="1"), Door(name="2")]
    names = ["TMK", *(f"r{n}" for n in range(0, 9, 2))]
    keys = [Key(name="TMK"), *(Key(name=n, standing=KeyStanding.RESERVED) for n in names[1:])]
    stamped = {"TMK": "345345"} | {f"r{n}": f"{n}" * 5 + "5" for n in range(0, 9, 2)}
    for unpinned in ((), (6,)):
        chart = AccessChart.build(
            [doors[0], replace(doors[1], unpinned=unpinned)], keys, {"1": ["TMK"], "2": ["TMK"]}
        )
        made = pinning.construct(
            chart,
            SIX,
            [SIX] * 2,
            bittings_of(chart, SIX, stamped),
            ConstructionMethod.RESERVED_CHAMBER,
            doors=["1"],
        )
        if unpinned:
            assert not isinstance(made, Construction)
            assert [finding.code for finding in made] == ["pinning-construction-no-chamber"]
        else:
            assert isinstance(made, Construction)
            assert made.position == 5


def test_construction_in_cores_keeps_the_control_lines() -> None:
    """Cores: the temporary stacks have build-up pins that are made, proved at both lines."""
    made = shipped("ic-7x10-0125")
    chart = chart_of({"1": "TMK a", "2": "TMK b"})
    bittings = bittings_of(chart, made, {"TMK": "5286144", "a": "7286144", "b": "5486144"})
    controls = pinning.choose_controls(chart, made, [made] * 2, bittings).controls
    found = pinning.construct(
        chart, made, [made] * 2, bittings, ConstructionMethod.RESERVED_CHAMBER, controls
    )
    assert isinstance(found, Construction)
    for state in (found.before, found.after):
        report = prove(state.chart, made, [made] * 2, state.bittings, controls, state.cylinders)
        assert report.proved
    assert cuts(made, "5286144") in found.after.bittings


def test_a_construction_key_never_comes_near_the_control_cuts() -> None:
    """Only chamber 1 is free, and the control key differs from the master there alone, by cut 0:
    a temporary cut of 0 would draw the cores, so another is taken; proved at both lines.
    """
    made = shipped("ic-6x10-0125")
    keys = [Key(name="TMK")]
    keys += [Key(name=f"r{n}", standing=KeyStanding.RESERVED) for n in range(0, 9, 2)]
    chart = AccessChart.build([Door(name="1")], keys, {"1": ["TMK"]})
    stamped = {"TMK": "444444"} | {f"r{n}": "4" + f"{n}" * 5 for n in range(0, 9, 2)}
    stamped["r4"] = "444446"
    bittings = bittings_of(chart, made, stamped)
    controls = (ControlKey(group="", levels=cuts(made, "044444")),)
    found = pinning.construct(
        chart, made, [made], bittings, ConstructionMethod.RESERVED_CHAMBER, controls
    )
    assert isinstance(found, Construction)
    assert found.position == 0
    state = found.before
    assert prove(state.chart, made, [made], state.bittings, controls, state.cylinders).proved


def test_the_chamber_that_costs_least_is_taken() -> None:
    """Chamber 1 has two master pins in every door already; the extra one goes elsewhere."""
    chart = chart_of({"1": "TMK a b", "2": "TMK a b"})
    bittings = bittings_of(chart, SIX, {"TMK": "345343", "a": "545343", "b": "745343"})
    method = ConstructionMethod.RESERVED_CHAMBER
    made = pinning.construct(chart, SIX, [SIX] * 2, bittings, method)
    assert isinstance(made, Construction)
    assert made.position != 0
    assert "pinning-sign-off" not in [finding.code for finding in made.findings]


def test_names_must_be_new() -> None:
    """A name that a key has, or a door that is not there, is a bug of the caller."""
    method = ConstructionMethod.SPLIT_PIN
    for doors, name in ((None, "TMK"), (["9"], "temporary"), ([], "temporary")):
        with pytest.raises(ValueError, match="doors of the chart"):
            pinning.construct(CHART, SIX, [SIX] * 4, BITTINGS, method, doors=doors, name=name)
