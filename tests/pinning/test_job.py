"""Pins of a whole job: what goes into every chamber, and what is said about it."""

from dataclasses import replace

import pytest

from pinloom import pinning
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.findings import Severity
from pinloom.core.hardware import SecurityDriver
from pinloom.core.lengths import from_inch
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.messages import line
from tests.pinning.kit import K1_KEYS, K1_ROWS, bittings_of, chart_of, shipped

SIX = shipped("us-6x10-015")


def numbers(cylinder: PinnedCylinder) -> list[int]:
    """Bottom pins by depth number."""
    return [SIX.number_of(stack.bottom) for stack in cylinder.chambers if stack is not None]


@pytest.mark.published
def test_the_worked_chart_pins_as_printed() -> None:
    """K-1 as printed: 11 master pins in all, spread over the doors as printed; the row of 106."""
    # *Keynotes* (Associated Locksmiths of America), February 2022, printed p. 36.
    chart = chart_of(K1_ROWS)
    job = pinning.pin_job(chart, SIX, [SIX] * 8, bittings_of(chart, SIX, K1_KEYS))
    assert job.findings == ()
    assert [cylinder.master_pins() for cylinder in job.cylinders] == [3, 0, 1, 2, 2, 0, 3, 0]
    row = job.cylinders[chart.door_index()["106"]]
    assert numbers(row) == [3, 4, 3, 4, 2, 1]
    masters = [stack.masters for stack in row.chambers if stack is not None]
    assert masters == [(), (2,), (2,), (2,), (), ()]


def test_drivers_follow_the_stack_total() -> None:
    """Totals 0-3, 4-6 and 7-9 take the first, second and third driver, whatever the bottom pin."""
    chart = chart_of({"d": "a b"})
    keys = bittings_of(chart, SIX, {"a": "013456", "b": "337479"})
    stacks = pinning.pin_job(chart, SIX, [SIX], keys).cylinders[0].chambers
    assert [stack.driver for stack in stacks if stack] == ["1", "1", "3", "2", "3", "3"]


def test_parts_count_identical_cylinders() -> None:
    """A door of three cylinders takes three of everything; springs are counted too."""
    chart = chart_of({"d": "a b", "e": "a"}, Door(name="d", count=3))
    keys = bittings_of(chart, SIX, {"a": "112233", "b": "142233"})
    job = pinning.pin_job(chart, SIX, [SIX, SIX], keys)
    counts = {
        (found.part.kind.value, found.part.size): found.count
        for found in pinning.parts(chart, [SIX, SIX], job.cylinders)
    }
    assert counts == {
        ("bottom", "1"): 8,
        ("bottom", "2"): 8,
        ("bottom", "3"): 8,
        ("master", "3"): 3,
        ("driver", "1"): 21,
        ("driver", "2"): 3,
        ("spring", ""): 24,
    }


def test_parts_in_inch_and_mm() -> None:
    """A stack of depth 4 and a master pin of 2 steps, in numbers, inch and millimetres."""
    found = pinning.describe(PinStack(bottom=4, masters=(2,), driver="2"), SIX, 0)
    assert [(p.kind.value, p.size, p.inch(), p.mm()) for p in found] == [
        ("bottom", "4", "0.2250", "5.715"),
        ("master", "2", "0.0300", "0.762"),
        ("driver", "2", "0.2000", "5.080"),
        ("spring", "", "", ""),
    ]


def test_a_shorter_cylinder_of_the_family_matches_by_distance() -> None:
    """Six-cut keys in a five-chamber cylinder: it meets the five cuts away from the bow."""
    six, five = shipped("us-6x6-023"), shipped("us-5x6-023")
    chart = chart_of({"d": "a"}, Door(name="d", hardware=five.name))
    job = pinning.pin_job(chart, six, [five], bittings_of(chart, six, {"a": "654321"}))
    assert job.findings == ()
    bottoms = [stack.bottom + 1 for stack in job.cylinders[0].chambers if stack]
    assert bottoms == [5, 4, 3, 2, 1]


def test_unpinned_chambers_stay_empty_and_take_no_parts() -> None:
    """Chambers 2 and 5 unpinned: None there, four springs."""
    chart = chart_of({"d": "a"}, Door(name="d", unpinned=(2, 5)))
    job = pinning.pin_job(chart, SIX, [SIX], bittings_of(chart, SIX, {"a": "123456"}))
    stacks = job.cylinders[0].chambers
    assert [stack is None for stack in stacks] == [False, True, False, False, True, False]
    springs = [p.count for p in pinning.parts(chart, [SIX], job.cylinders) if not p.part.size]
    assert springs == [4]


def test_keys_that_are_not_active_get_no_shear_line() -> None:
    """A retired key is not pinned for, even if a mark of it were left."""
    doors = [Door(name="d")]
    keys = [Key(name="a"), Key(name="b", standing=KeyStanding.RETIRED)]
    chart = AccessChart.build(doors, keys, {"d": ["a", "b"]})
    job = pinning.pin_job(chart, SIX, [SIX], bittings_of(chart, SIX, {"a": "1" * 6, "b": "5" * 6}))
    assert job.cylinders[0].master_pins() == 0


@pytest.mark.parametrize(
    ("keys", "door", "expected"),
    [
        ({"a": "333333", "b": "343333"}, Door(name="d"), "pinning-no-such-master"),
        (
            {"a": "033333", "b": "233333", "c": "433333"},
            Door(name="d"),
            None,
        ),
        (
            {"a": "033333", "b": "233333", "c": "433333", "e": "633333"},
            Door(name="d"),
            "pinning-sign-off",
        ),
        (
            {c: f"{n}33333" for c, n in zip("abcdef", "024689", strict=True)},
            Door(name="d"),
            "pinning-too-many-masters",
        ),
        ({"a": "123456"}, Door(name="d", unpinned=(7,)), "pinning-no-such-chamber"),
        ({"a": "123456"}, Door(name="d", unpinned=(1, 2, 3, 4, 5, 6)), "pinning-all-unpinned"),
    ],
)
def test_what_is_said_about_pins(keys: dict[str, str], door: Door, expected: str | None) -> None:
    """Each remarkable chamber has a finding; two master pins in one have none."""
    chart = chart_of({"d": " ".join(keys)}, door)
    job = pinning.pin_job(chart, SIX, [SIX], bittings_of(chart, SIX, keys))
    codes = [finding.code for finding in job.findings]
    assert (expected in codes) if expected else codes == []
    assert all(line(finding) for finding in job.findings)


def test_a_door_without_keys_or_with_foreign_ones_is_a_fault() -> None:
    """Nothing to pin for, or keys of another family: a fault each, and no pins."""
    other = shipped("us-6x6-028")
    chart = AccessChart.build(
        [Door(name="d"), Door(name="e")], [Key(name="a")], {"d": [], "e": ["a"]}
    )
    job = pinning.pin_job(chart, SIX, [SIX, other], bittings_of(chart, SIX, {"a": "123456"}))
    assert [finding.code for finding in job.findings] == [
        "pinning-no-keys",
        "pinning-foreign-keys",
    ]
    assert {finding.severity for finding in job.findings} == {Severity.FAULT}
    assert not any(stack for cylinder in job.cylinders for stack in cylinder.chambers)


def test_security_drivers_only_where_listed_and_never_over_a_thin_master() -> None:
    """Chamber 1 is listed and takes it; chamber 2 is listed but has a thin master pin on top;
    chamber 3 takes another length; chamber 4 is not listed.
    """
    base = shipped("us-6x6-023")
    special = SecurityDriver(label="grooved", replaces="standard", chambers=(0, 1))
    made = replace(base, step=from_inch("0.020"), security_drivers=(special,))
    chart = chart_of({"d": "a b"})
    keys = bittings_of(chart, made, {"a": "111111", "b": "321111"})
    job = pinning.pin_job(chart, made, [made], keys, secure=True)
    assert [s.driver for s in job.cylinders[0].chambers if s] == [
        "grooved",
        *["standard"] * 5,
    ]
    assert job.findings == ()
    wrong = PinnedCylinder(
        door="d",
        chambers=(
            None,
            PinStack(bottom=0, masters=(1,), driver="grooved"),
            PinStack(bottom=0, driver="grooved"),
        )
        + (None,) * 3,
    )
    found = pinning.stack_faults(made, wrong)
    assert [(f.code, f.value("chamber")) for f in found] == [
        ("pinning-security-driver", "2"),
        ("pinning-security-driver", "3"),
    ]


def test_lists_of_another_length_are_a_bug() -> None:
    """One format a door and one bitting a key, or an exception."""
    chart = chart_of({"d": "a"})
    with pytest.raises(ValueError, match="one format a door"):
        pinning.pin_job(chart, SIX, [], [])
