"""Readings of published standards for a format, for each key and for the hierarchy of a chart.

EN 1303:2015, key-related security (digit 7), from a German trade glossary, not from the standard:
per grade the least number of effective differs, of movable detainers, the most identical steps as a
share of the cuts, and the most identical neighbours in a row.

How many codes meet the step rules is counted, not listed. Let m be the most equal cuts allowed. As
soon as 2 (m + 1) exceeds the number of cuts, no two depths can both be used too often; so the codes
too many are, depth by depth, the codes that use that depth more than m times. Both counts come from
a transfer over (last cut, run of equals, uses of the depth).

ANSI/BHMA A156.28-2018, recommended practices for mechanical keying systems (extract): a selective
master costs about 20-25 % of capacity where it is used and at most one is recommended; cross keying
lowers a cylinder's security and hinders growth. How these are told in a chart is ours: see
``hierarchy``.

All of it is advice about cuts. A cylinder's grade and certificate are its maker's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from pinloom.audit.hierarchy import cross_keyed, selective_masters
from pinloom.audit.records import GradeCount, KeyGrade, Standards
from pinloom.core.bitting import Bitting
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One row of the table. Shares in per cent; None = no limit."""

    grade: int
    differs: int
    detainers: int
    identical: int
    in_a_row: int | None


GRADES = (
    Grade(grade=1, differs=100, detainers=2, identical=100, in_a_row=None),
    Grade(grade=2, differs=300, detainers=3, identical=70, in_a_row=2),
    Grade(grade=3, differs=15_000, detainers=5, identical=60, in_a_row=2),
    Grade(grade=4, differs=30_000, detainers=5, identical=60, in_a_row=2),
    Grade(grade=5, differs=30_000, detainers=6, identical=60, in_a_row=2),
    Grade(grade=6, differs=100_000, detainers=6, identical=50, in_a_row=2),
)


def standards(job: Job) -> Standards:
    """Grades of the job's own format and keys, and A156.28's advice applied to its chart."""
    made = job.key_format
    grades = tuple(grade_count(made, grade) for grade in GRADES)
    return Standards(
        grades=grades,
        format_grade=max((one.grade for one in grades if one.met), default=0),
        keys=tuple(
            KeyGrade(key=key.name, grade=key_grade(levels))
            for key, levels in zip(job.chart.keys, job.bittings, strict=True)
        ),
        selective=tuple(job.chart.keys[key].name for key in selective_masters(job.chart)),
        cross_keyed=tuple(job.chart.doors[door].name for door in cross_keyed(job.chart)),
    )


def grade_count(made: HardwareFormat, grade: Grade) -> GradeCount:
    """The format's own numbers against one grade."""
    cuts, levels = made.chambers, made.levels
    codes = count_codes(cuts, range(levels), levels, grade)
    cuttable = count_codes(cuts, range(levels), made.macs, grade)
    apart = count_codes(cuts, range(0, levels, made.least_step), made.macs, grade)
    return GradeCount(
        grade=grade.grade,
        needed=grade.differs,
        codes=codes,
        cuttable=cuttable,
        apart=apart,
        detainers=cuts,
        met=apart >= grade.differs and cuts >= grade.detainers,
    )


def most_equal(cuts: int, grade: Grade) -> int:
    """The most equal cuts that the share of a grade allows."""
    return cuts * grade.identical // 100


def key_grade(levels: Bitting) -> int:
    """The highest grade whose step rules a key keeps."""
    return max((grade.grade for grade in GRADES if keeps(levels, grade)), default=0)


def keeps(levels: Sequence[int], grade: Grade) -> bool:
    """Whether a key keeps the two step rules of a grade."""
    runs = [len(list(run)) for _, run in groupby(levels)]
    often = max((list(levels).count(level) for level in set(levels)), default=0)
    return often <= most_equal(len(levels), grade) and (
        grade.in_a_row is None or max(runs, default=0) <= grade.in_a_row
    )


def count_codes(cuts: int, levels: Sequence[int], macs: int, grade: Grade) -> int:
    """Codes of so many cuts over these levels that keep the step rules of a grade and MACS.

    Raises ValueError where the share is so small that two depths could both be used too often.
    """
    most = most_equal(cuts, grade)
    longest = grade.in_a_row or cuts
    if 2 * (most + 1) <= cuts:
        raise ValueError("the count holds for shares from a half upwards")
    every = _transfer(cuts, levels, macs, longest, None)
    total = sum(every.values())
    for level in levels:
        uses = _transfer(cuts, levels, macs, longest, level)
        total -= sum(count for (_, _, used), count in uses.items() if used > most)
    return total


def _transfer(
    cuts: int, levels: Sequence[int], macs: int, longest: int, watched: int | None
) -> dict[tuple[int, int, int], int]:
    """Codes by (last cut, length of the last run of equals, uses of the watched level)."""
    states = {(level, 1, int(level == watched)): 1 for level in levels}
    for _ in range(cuts - 1):
        following: dict[tuple[int, int, int], int] = {}
        for (last, run, used), count in states.items():
            for level in levels:
                length = run + 1 if level == last else 1
                if abs(level - last) > macs or length > longest:
                    continue
                state = (level, length, used + (level == watched))
                following[state] = following.get(state, 0) + count
        states = following
    return states
