"""Exposure, standards, hierarchy, comparison and the odd cylinders, one claim a test."""

from dataclasses import replace

import pytest

from pinloom.audit import (
    Countermeasure,
    Measure,
    as_json,
    audit,
    census_svg,
    compare,
    exposure_svg,
    margin_map,
)
from pinloom.audit.hierarchy import cross_keyed, selective_masters
from pinloom.audit.standards import GRADES, grade_count, key_grade
from pinloom.core.chart import AccessChart, Blank, Door, Key, KeyStanding
from pinloom.core.findings import Severity
from pinloom.core.hardware import CoreKind
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.messages import do, what
from tests.audit.jobs import chart_of, job_of, k1_job
from tests.proof.formats import core, tiny, us_6x6_023, us_6x10_015
from tests.proof.jobs import K1_MENDED, K1_PRINTED, pins_for

TREE = {
    "a1": "A1 A TMK",
    "a2": "A2 A TMK",
    "b1": "B1 B TMK",
    "b2": "B2 B TMK",
}


# --- exposure -------------------------------------------------------------------------------------


def test_a_master_is_at_stake_where_a_lesser_key_opens() -> None:
    """A tree's top master is at stake at every door; a single-keyed door and one whose keys reach
    equally far have nothing at stake.
    """
    chart = chart_of({"a1": "A1 TMK", "a2": "A2 TMK", "safe": "safe", "pair": "p q"})
    bittings = [(0, 3, 1), (0, 2, 1), (0, 0, 0), (1, 3, 3), (1, 3, 2), (2, 0, 3)]
    assert [key.name for key in chart.keys] == ["A1", "A2", "p", "q", "safe", "TMK"]
    made = audit(job_of(chart, tiny(), bittings))
    by_door = {one.door: one for one in made.exposure}
    assert (by_door["a1"].at_stake, by_door["a1"].holders, by_door["a1"].behind) == ("TMK", 1, 2)
    assert by_door["a1"].trials == 3 * (4 - 1)
    assert by_door["safe"].at_stake == by_door["pair"].at_stake == ""
    assert by_door["safe"].lowers == ()
    assert Countermeasure.SINGLE_KEY in by_door["a1"].lowers
    assert Countermeasure.RESTRICTED_BLANK in by_door["a1"].lowers
    (master,) = made.masters
    assert (master.key, master.through, master.behind, master.least_trials) == ("TMK", 2, 2, 9)


def test_taking_a_door_off_its_master_lowers_its_combinations() -> None:
    """``without`` is the count of the same door pinned for its other keys alone."""
    made = us_6x10_015()
    chart = chart_of({"a": "k TMK", "b": "m TMK"})
    assert [key.name for key in chart.keys] == ["k", "m", "TMK"]
    bittings = [(2, 2, 2, 4, 4, 4), (4, 4, 4, 2, 2, 2), (0, 2, 0, 2, 0, 2)]
    found = audit(job_of(chart, made, bittings))
    alone = audit(job_of(chart_of({"a": "k", "b": "m TMK"}), made, bittings))
    assert found.doors[0].exact == 2**5
    assert found.exposure[0].without == alone.doors[0].exact == 1


def test_every_countermeasure_has_its_occasion() -> None:
    """A crowded, wholly progressed core without a group gets all five."""
    made = core(CoreKind.SMALL)
    chart = chart_of({"a": "k m TMK", "b": "TMK"})
    control = (3, 3, 3)
    chambers = tuple(
        PinStack(bottom=0, masters=(1, 1), buildup=control[c] + 4 - 2) for c in range(3)
    )
    pinning = [
        PinnedCylinder(door="a", chambers=chambers),
        PinnedCylinder(door="b", chambers=(PinStack(bottom=0, buildup=7),) * 3),
    ]
    job = job_of(
        chart,
        made,
        [(1, 1, 1), (2, 2, 2), (0, 0, 0)],
        pinning,
        [ControlKey(group="", levels=control)],
    )
    assert set(audit(job).exposure[0].lowers) == set(Countermeasure)


def test_findings_about_exposure_come_with_countermeasures() -> None:
    """What is at stake is never said without what lowers it, and no cut is told."""
    chart = chart_of(TREE)
    cuts = {
        "TMK": (0, 0, 0),
        "A": (1, 0, 0),
        "B": (2, 0, 0),
        "A1": (1, 1, 0),
        "A2": (1, 0, 1),
        "B1": (2, 1, 0),
        "B2": (2, 0, 1),
    }
    job = job_of(chart, tiny(), [cuts[key.name] for key in chart.keys])
    assert job.proof.proved
    found = [one for one in audit(job).findings if one.code == "audit-key-at-stake"]
    assert [one.value("key") for one in found] == ["TMK"]
    assert found[0].severity is Severity.CAUTION
    for word in ("Single-key", "fewer master pins", "blanks", "core groups", "account"):
        assert word in do(found[0])


# --- standards ------------------------------------------------------------------------------------


def test_grade_of_a_format_needs_codes_and_detainers() -> None:
    """Six one-step pins of ten depths reach grade 6; the same at two steps have too few codes that
    differ; four chambers stop at grade 2 whatever their depths.
    """
    two_step = us_6x10_015()
    one_step = replace(two_step, least_step=1, macs=9)
    reached = {grade.grade for grade in GRADES if grade_count(one_step, grade).met}
    assert reached == {1, 2, 3, 4, 5, 6}
    reached = {grade.grade for grade in GRADES if grade_count(two_step, grade).met}
    assert reached == {1, 2}
    reached = {g.grade for g in GRADES if grade_count(replace(one_step, chambers=4), g).met}
    assert reached == {1, 2}


@pytest.mark.parametrize(
    ("levels", "grade"),
    [
        ((0, 1, 2, 3, 4, 5), 6),
        ((0, 1, 1, 3, 4, 5), 6),
        ((1, 1, 1, 3, 4, 5), 1),  # three equal neighbours
        ((1, 2, 1, 2, 1, 2), 6),
        ((1, 1, 2, 1, 2, 1), 2),  # four of six equal: 70 % but not 60 %
        ((1, 1, 1, 1, 1, 1), 1),
    ],
)
def test_grade_of_a_key(levels: tuple[int, ...], grade: int) -> None:
    """A key's grade is the highest whose two step rules it keeps."""
    assert key_grade(levels) == grade


def test_keys_below_the_format_are_named() -> None:
    """A key with too many equal cuts for the format's grade is a note."""
    made = us_6x10_015()
    job = job_of(chart_of({"d": "flat"}), made, [(2, 2, 2, 5, 7, 8)])
    (found,) = [one for one in audit(job).findings if one.code == "audit-en1303-keys"]
    assert found.value("keys") == "flat"


# --- hierarchy ------------------------------------------------------------------------------------


def test_a_plain_tree_has_neither_cross_keys_nor_selective_masters() -> None:
    """Nested keys are no crossing."""
    chart = chart_of(TREE)
    assert cross_keyed(chart) == ()
    assert selective_masters(chart) == ()


def test_a_shared_entrance_is_cross_keyed_and_makes_no_selective_master() -> None:
    """All change keys open the entrance: cross-keyed, but the area masters still nest."""
    chart = chart_of({**TREE, "entrance": "A1 A2 B1 B2 A B TMK"})
    assert [chart.doors[door].name for door in cross_keyed(chart)] == ["entrance"]
    assert selective_masters(chart) == ()


def test_a_service_key_over_every_area_is_selective() -> None:
    """One door of each area on one more key: that key cuts across the area masters."""
    chart = chart_of({**TREE, "a1": "A1 A TMK service", "b1": "B1 B TMK service"})
    names = [chart.keys[key].name for key in selective_masters(chart)]
    assert names == ["service"]
    assert cross_keyed(chart) == ()


def test_of_two_masters_that_cross_the_smaller_is_selective() -> None:
    """Where each cuts across the other alone, the master of fewer doors is the one to take out."""
    chart = chart_of(
        {
            "a1": "A1 A TMK service",
            "a2": "A2 A TMK",
            "a3": "A3 A TMK",
            "b1": "B1 TMK service",
        }
    )
    assert [chart.keys[key].name for key in selective_masters(chart)] == ["service"]


def test_retired_keys_are_no_part_of_the_hierarchy() -> None:
    """A lost service key cuts across nothing."""
    marks = {**TREE, "a1": "A1 A TMK service", "b1": "B1 B TMK service"}
    plain = chart_of(marks)
    keys = [
        replace(key, standing=KeyStanding.RETIRED) if key.name == "service" else key
        for key in plain.keys
    ]
    chart = AccessChart.build(plain.doors, keys, {d: words.split() for d, words in marks.items()})
    assert selective_masters(chart) == ()


# --- compare --------------------------------------------------------------------------------------


def test_compare_k1_as_printed_with_the_mended_design() -> None:
    """The mended design has fewer master pins, no fault and fewer incidental combinations."""
    one, other = k1_job(K1_PRINTED), k1_job(K1_MENDED)
    found = compare((one, audit(one)), (other, audit(other)))
    rows = {row.measure: row for row in found.rows}
    assert set(rows) == set(Measure)
    assert (rows[Measure.MASTER_PINS].one, rows[Measure.MASTER_PINS].other) == (11, 8)
    assert (rows[Measure.FAULTS].one, rows[Measure.FAULTS].other) == (3, 0)
    assert rows[Measure.MASTER_PINS].better == rows[Measure.INCIDENTAL].better == 1
    assert rows[Measure.WEAKEST_CHAMBERS].better == 0
    back = compare((other, audit(other)), (one, audit(one)))
    assert [row.better for row in back.rows] == [-row.better for row in found.rows]


def test_wider_margins_are_better_margins() -> None:
    """More chambers and steps are better where refusals are compared, less elsewhere."""
    chart = chart_of({"d": "k"}, "x")
    one = job_of(chart, tiny(), [(0, 0, 0), (1, 0, 0)])
    other = job_of(chart, tiny(), [(0, 0, 0), (3, 3, 0)])
    rows = {row.measure: row for row in compare((one, audit(one)), (other, audit(other))).rows}
    assert rows[Measure.WEAKEST_CHAMBERS].better == 1
    assert rows[Measure.WEAKEST_STEPS].better == 1
    assert rows[Measure.FRAGILE].better == 1


def test_only_designs_of_one_chart_compare() -> None:
    """Other doors or marks are refused as a bug."""
    one = k1_job(K1_PRINTED)
    other = job_of(chart_of({"d": "k"}), tiny(), [(0, 0, 0)])
    with pytest.raises(ValueError, match="one chart"):
        compare((one, audit(one)), (other, audit(other)))


# --- odd cylinders --------------------------------------------------------------------------------


def test_cylinders_of_another_format_are_counted_in_the_keys_own_space() -> None:
    """A five-chamber cylinder leaves the six-cut key's bow cut free: six times as many keys, less
    those that MACS forbids.
    """
    six, five = us_6x6_023(6), us_6x6_023(5)
    chart = AccessChart.build(
        [Door(name="d", hardware=five.name)], [Key(name="k"), Key(name="x")], {"d": ["k"]}
    )
    pins = [pins_for("d", [(0, 2, 3, 2, 1)])]
    job = job_of(chart, six, [(5, 0, 2, 3, 2, 1), (4, 0, 2, 3, 2, 1)], pins, others=[five])
    found = audit(job)
    # The bow cut stands beside a cut of level 0: levels 0..4 are within MACS 4.
    assert found.doors[0].exact == 5
    # Key ``k`` was given with a bow cut beyond MACS, so it is none of these five; ``x`` is one, and
    # the proof calls it a fault.
    assert found.doors[0].issued == 1
    assert found.faults == (("x", "d"),)


def test_keys_that_cannot_enter_are_not_among_the_issued() -> None:
    """Equal cuts on a blank that does not enter open nothing, and are no margin either."""
    chart = AccessChart.build(
        [Door(name="d", keyway="A")],
        [Key(name="k"), Key(name="x", blank="other")],
        {"d": ["k"]},
        [Blank(name="other", enters=("B",))],
    )
    found = audit(job_of(chart, tiny(), [(0, 1, 2), (0, 1, 2)]))
    assert found.doors[0].issued == 1
    assert found.neighbours.pairs == 0
    assert found.neighbours.weakest == ()


def test_unreadable_pins_count_for_nothing_and_are_named() -> None:
    """A door with the wrong number of chambers gets no figures, and the others theirs."""
    chart = chart_of({"bad": "k", "good": "k"})
    pins = [
        PinnedCylinder(door="bad", chambers=(PinStack(bottom=0),)),
        pins_for("good", [(0, 1, 2)]),
    ]
    found = audit(job_of(chart, tiny(), [(0, 1, 2)], pins))
    assert [(one.exact, one.tolerant, one.issued) for one in found.doors] == [(0, 0, 0), (1, 1, 1)]
    (said,) = [one for one in found.findings if one.code == "audit-unreadable"]
    assert said.value("doors") == "bad"
    assert as_json(found)["faults"] == [["", "bad"]]


def test_control_keys_are_no_incidental_keys() -> None:
    """The control key of a core is on order, so it is not reported as a key nobody ordered."""
    made = core(CoreKind.SMALL)
    chart = chart_of({"a": "k", "b": "k"})
    stack = PinStack(bottom=0, masters=(3,), buildup=1)
    pins = [PinnedCylinder(door=name, chambers=(stack,) * 3) for name in ("a", "b")]
    everywhere = ControlKey(group="", levels=(3, 3, 3))
    found = audit(job_of(chart, made, [(0, 0, 0)], pins, [everywhere]))
    assert found.exact is not None
    assert len(found.exact.strongest) == 2**3 - 2
    assert (3, 3, 3) not in {one.levels for one in found.exact.strongest}


def test_a_key_space_too_large_has_counts_but_no_census() -> None:
    """Nine chambers of ten depths: combinations are exact, the census is left out with a note."""
    made = tiny(9, 10)
    job = job_of(chart_of({"d": "k"}), made, [(0, 1, 2, 3, 4, 5, 6, 7, 8)])
    found = audit(job)
    assert found.census == ()
    assert found.doors[0].exact == 1
    assert "audit-census-skipped" in {one.code for one in found.findings}
    assert as_json(found)["census"] == {"opens": {}}


def test_findings_are_worded_and_no_faults() -> None:
    """Every remark has its two sentences, and none is a fault: the proof alone judges."""
    for texts in (K1_PRINTED, K1_MENDED):
        found = audit(k1_job(texts)).findings
        assert found
        for one in found:
            assert one.severity is not Severity.FAULT
            assert what(one).endswith(".")
            assert do(one).endswith(".")
    codes = [one.code for one in audit(k1_job(K1_PRINTED)).findings]
    assert codes[0] == "audit-not-proved"


@pytest.mark.parametrize("doors", [0, 1])
@pytest.mark.parametrize("keys", [0, 1])
def test_empty_jobs_break_nothing(doors: int, keys: int) -> None:
    """No doors or no keys: the proof, the audit and its pictures still answer."""
    chart = AccessChart.build(
        [Door(name="d")][:doors], [Key(name="k")][:keys], {"d": ["k"][:keys]} if doors else {}
    )
    pins = [pins_for("d", [(0, 1, 2)])][:doors]
    job = job_of(chart, tiny(), [(0, 1, 2)][:keys], pins)
    assert job.proof.proved
    found = audit(job)
    assert found.exact is not None
    assert found.exact.opens == (((0, 63), (1, 1)) if doors else ((0, 64),))
    assert len(margin_map(job, found).cells) == doors
    for picture in (census_svg(found), exposure_svg(found)):
        assert picture is not None
        assert picture.startswith("<svg")
