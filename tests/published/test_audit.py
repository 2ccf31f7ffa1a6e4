"""The audit against numbers from print; each test names its source."""

import pytest

from pinloom.audit import as_json, audit
from pinloom.audit.counting import count_bittings, count_under, count_within
from pinloom.audit.exposure import trials
from pinloom.audit.standards import GRADES, count_codes, keeps
from pinloom.core.stacks import PinnedCylinder
from tests.audit.brute import cuttable
from tests.audit.jobs import chart_of, job_of, k1_job
from tests.proof.formats import tiny, us_6x10_015
from tests.proof.jobs import K1_MENDED, K1_PRINTED, levels_of, pins_for, stack_for

pytestmark = pytest.mark.published

# (depths, MACS, OEIS number, counts for 1..8 cuts)
OEIS = [
    (10, 1, "A126364", "10 28 80 230 664 1922 5574 16188"),
    (10, 2, "A126397", "10 44 200 918 4236 19598 90790 420870"),
    (10, 3, "A126478", "10 58 350 2130 12990 79258 483646 2951370"),
    (10, 4, "A126505", "10 70 510 3720 27142 198034 1444904 10542368"),
    (10, 5, "A126531", "10 80 660 5430 44692 367826 3027314 24915652"),
    (9, 5, "A126530", "9 69 541 4231 33101 258953 2025831 15848391"),
    (8, 5, "A126529", "8 58 426 3124 22914 168066 1232708 9041498"),
    (7, 4, "A126502", "7 43 269 1679 10483 65449 408623 2551187"),
    (6, 4, "A126501", "6 34 194 1106 6306 35954 204994 1168786"),
    (6, 2, "A126393", "6 24 100 418 1748 7310 30570 127842"),
    (5, 3, "A126473", "5 23 107 497 2309 10727 49835 231521"),
]


@pytest.mark.parametrize(("depths", "macs", "number", "counts"), OEIS, ids=[o[2] for o in OEIS])
def test_c1_cuttable_keys(depths: int, macs: int, number: str, counts: str) -> None:
    """C-1: strings of n cuts over b depths with neighbours at most k apart. OEIS, as numbered."""
    found = [count_bittings(cuts, depths, macs) for cuts in range(1, 9)]
    assert found == [int(count) for count in counts.split()], number


def test_c1_without_a_leading_zero() -> None:
    """C-1, OEIS A383202: ten depths, MACS 7, the first cut not 0."""
    found = [count_within([range(1, 10), *[range(10)] * (cuts - 1)], 10, 7) for cuts in range(1, 9)]
    assert found == [9, 86, 813, 7693, 72786, 688661, 6515721, 61648078]


def test_c2_codes_of_two_residential_formats() -> None:
    """C-2: five cuts of six depths, MACS 4: 6,306; of eight depths, MACS 7: 32,768.

    Source: arialocks.com, "Security concern about mass product residential locks", 22 Apr 2014.
    """
    assert count_bittings(5, 6, 4) == 6_306
    assert count_bittings(5, 8, 7) == 32_768


def test_c7_two_keys_make_sixty_four() -> None:
    """C-7: a cylinder pinned for 333333 and 555555 is operated by 64 combinations, 62 incidental.

    Source: Keynotes, article on minimal master keying.
    """
    made = us_6x10_015()
    bittings = levels_of(made, "333333", "555555")
    found = audit(job_of(chart_of({"Loft": "a b"}), made, bittings)).doors[0]
    assert (found.exact, found.exact - found.issued) == (64, 62)


def test_c8_two_shear_lines_in_each_of_six_chambers() -> None:
    """C-8: six chambers with two shear lines each: up to 64 keys. Wikipedia, "Master keying"."""
    made = us_6x10_015()
    for low, high in ((0, 2), (1, 8), (4, 6)):
        cylinder = pins_for("Loft", [(low,) * 6, (high,) * 6])
        chart = chart_of({"Loft": "a"})
        found = audit(job_of(chart, made, [(low,) * 6], [cylinder])).doors[0]
        assert found.exact == 64
    # Fewer where MACS forbids some of them.
    wide = pins_for("Loft", [(0,) * 6, (9,) * 6])
    assert audit(job_of(chart_of({"Loft": "a"}), made, [(0,) * 6], [wide])).doors[0].exact == 2


def test_k1_exact_combinations_and_faults() -> None:
    """K-1 as printed: 8, 1, 2, 4, 4, 1, 8, 1 exact combinations and the three faults (derived).

    Source: Keynotes (Associated Locksmiths of America), February 2022, printed p. 36.
    """
    told = as_json(audit(k1_job(K1_PRINTED)))
    doors = told["doors"]
    assert isinstance(doors, dict)
    assert list(doors) == ["101", "102", "103", "104A", "104B", "105", "106", "107"]
    combinations = [one["combinations"] for one in doors.values() if isinstance(one, dict)]
    assert combinations == [8, 1, 2, 4, 4, 1, 8, 1]
    assert told["faults"] == [
        ["maintenance", "104A"],
        ["maintenance", "104B"],
        ["maintenance", "106"],
    ]
    mended = audit(k1_job(K1_MENDED))
    assert mended.faults == ()
    assert [door.exact for door in mended.doors] == [8, 1, 2, 2, 2, 1, 4, 1]
    assert sum(door.master_pins for door in mended.doors) == 8


def test_b1_trials_at_most() -> None:
    """B-1: five pins of ten depths: at most P (D - 1) = 45 trials; an unpinned chamber gives none.

    Source: M. Blaze, "Rights Amplification in Master-Keyed Mechanical Locks", IEEE Security &
    Privacy 1(2), 2003 (45 seen second-hand, January 2003).
    """
    made = tiny(5, 10)
    assert trials(pins_for("Loft", [(1, 2, 3, 4, 5)]), made) == 45
    assert trials(pins_for("Loft", [(1, 2, 3, 4, 5)], unpinned=[2]), made) == 36


def test_b2_user_keys_under_a_master() -> None:
    """B-2: seven pins of six depths, master 5234261, user cuts never equal to nor one off the
    master's: 3^5 x 4^2 = 3,888 user keys.

    Source: math.stackexchange.com question 2237744 (question seen, count derived).
    """
    master = [digit - 1 for digit in (5, 2, 3, 4, 2, 6, 1)]
    assert count_under(master, 6, macs=5, apart=2) == 3**5 * 4**2 == 3_888


E1 = [
    (5, 6, 60, 7_170),
    (5, 6, 50, 6_120),
    (6, 6, 60, 41_250),
    (6, 6, 50, 41_250),
    (5, 10, 60, 97_110),
    (5, 10, 50, 91_440),
    (6, 10, 60, 958_230),
    (6, 10, 50, 958_230),
]


@pytest.mark.parametrize(("cuts", "depths", "share", "codes"), E1)
def test_e1_codes_that_meet_the_step_rules(cuts: int, depths: int, share: int, codes: int) -> None:
    """E-1: codes that keep both step rules of EN 1303:2015, digit 7 (all counts derived).

    Source of the table: a German trade glossary, not the standard itself.
    """
    grade = next(g for g in GRADES if g.identical == share and g.in_a_row == 2)
    assert count_codes(cuts, range(depths), depths, grade) == codes


@pytest.mark.parametrize("macs", [2, 3, 5])
def test_e1_counts_equal_enumeration(macs: int) -> None:
    """The counted codes of every grade are those that a listing finds, MACS respected."""
    for cuts, levels in ((4, 5), (5, 4), (6, 4)):
        for grade in GRADES:
            listed = sum(keeps(code, grade) for code in cuttable(cuts, levels, macs))
            assert count_codes(cuts, range(levels), macs, grade) == listed


def test_k1_box_by_hand() -> None:
    """Door 106 of K-1: bottoms 3 4 3 4 2 1, master pins - 2 2 2 - -: eight bittings."""
    made = us_6x10_015()
    stacks = [stack_for(levels) for levels in ([3], [4, 6], [3, 5], [4, 6], [2], [1])]
    pins = PinnedCylinder(door="106", chambers=tuple(stacks))
    job = job_of(chart_of({"106": "a"}), made, levels_of(made, "343421"), [pins])
    assert audit(job).doors[0].exact == 8
