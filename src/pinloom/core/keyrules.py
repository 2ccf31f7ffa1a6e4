"""Rules about the look of a single key, as data of a job.

Advisory by default (trade advice differs between publications); a shop may require or drop each.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise


class Force(Enum):
    """What a rule does in a design."""

    OFF = "off"
    ADVISE = "advise"
    REQUIRE = "require"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyRules:
    """Forces and limits of the rules. Defaults: only an all-equal key is refused in a design."""

    not_all_equal: Force = Force.REQUIRE
    neighbours_equal: Force = Force.ADVISE
    most_neighbours_equal: int = 2  # uniononline.co.uk, masterkeying rules: at most 2 in a row
    total_equal: Force = Force.ADVISE
    most_total_equal: int = 4  # same page: at most 4 equal in a six-pin key
    not_steady: Force = Force.ADVISE  # no key that only rises or only falls
    not_deep_at_bow: Force = Force.ADVISE
    deep_at_bow_levels: int = 2  # the deepest N levels count as deep; common practice, no source


def breaches(
    levels: Sequence[int], depth_count: int, bow_first: bool, rules: KeyRules
) -> list[str]:
    """Names of the rule fields that a key breaks, in field order; OFF rules are skipped."""
    found: list[str] = []
    pairs = list(pairwise(levels))
    if rules.not_all_equal is not Force.OFF and len(set(levels)) == 1 and len(levels) > 1:
        found.append("not_all_equal")
    if (
        rules.neighbours_equal is not Force.OFF
        and _longest_run(levels) > rules.most_neighbours_equal
    ):
        found.append("neighbours_equal")
    most = max((list(levels).count(level) for level in set(levels)), default=0)
    if rules.total_equal is not Force.OFF and most > rules.most_total_equal:
        found.append("total_equal")
    steady = bool(pairs) and (all(a < b for a, b in pairs) or all(a > b for a, b in pairs))
    if rules.not_steady is not Force.OFF and steady:
        found.append("not_steady")
    at_bow = levels[0] if bow_first else levels[-1]
    if rules.not_deep_at_bow is not Force.OFF and at_bow >= depth_count - rules.deep_at_bow_levels:
        found.append("not_deep_at_bow")
    return found


def _longest_run(levels: Sequence[int]) -> int:
    longest = run = 0
    previous: int | None = None
    for level in levels:
        run = run + 1 if level == previous else 1
        previous = level
        longest = max(longest, run)
    return longest
