"""No preference loses to the usual one by its own measure."""

from functools import cache
from math import prod

import pytest

from pinloom.core.job import Preference
from pinloom.core.request import Designed, DesignRequest
from pinloom.design import design
from pinloom.proof import prove
from tests.audit.jobs import chart_of
from tests.proof.formats import us_6x10_015
from tests.proof.jobs import pin_chart

#: two wings of two groups of four, a stair a group, four keys across
GROUPS = [(wing, group) for wing in "AB" for group in (1, 2)]
OPENS = {
    f"{wing}{group}{door}": f"k{wing}{group}{door} {wing}{group} {wing} TOP"
    for wing, group in GROUPS
    for door in range(4)
}
OPENS |= {
    f"stair {wing}{group}": " ".join(
        [*(f"k{wing}{group}{door}" for door in range(4)), f"{wing}{group}", wing, "TOP"]
    )
    for wing, group in GROUPS
}
for _key, _doors in {"x": "A10 B21", "y": "A23 B12 B13", "z": "A11 A22", "w": "B10 A12"}.items():
    for _door in _doors.split():
        OPENS[_door] += f" {_key}"


@cache
def figures(preference: Preference) -> tuple[int, int]:
    """Master pins and exact combinations of the design, counted from its cuts alone."""
    made, chart = us_6x10_015(), chart_of(OPENS)
    outcome = design(
        DesignRequest(
            chart=chart,
            key_format=made,
            cylinder_formats=(made,) * len(chart.doors),
            fixed=(None,) * len(chart.keys),
            preference=preference,
        )
    )
    assert isinstance(outcome, Designed)
    formats = [made] * len(chart.doors)
    pins = pin_chart(chart, outcome.bittings)
    assert prove(chart, made, formats, outcome.bittings, (), pins).proved
    depths = [
        [len({outcome.bittings[k][p] for k in row}) for p in range(made.chambers)]
        for row in chart.openers
    ]
    return sum(n - 1 for row in depths for n in row), sum(prod(row) for row in depths)


def test_fewest_master_pins_has_no_more_than_any_other_preference() -> None:
    """The usual preference against the two that price cuts otherwise."""
    pins = figures(Preference.FEWEST_MASTER_PINS)[0]
    assert pins <= figures(Preference.FEWEST_INCIDENTAL_KEYS)[0]
    assert pins <= figures(Preference.FEWEST_PIN_SIZES)[0]


@pytest.mark.parametrize(
    "other", [Preference.FEWEST_MASTER_PINS, Preference.FEWEST_PIN_SIZES], ids=lambda p: p.value
)
def test_fewest_incidental_keys_has_no_more_combinations(other: Preference) -> None:
    """What the usual preference makes is among the designs that are compared."""
    assert figures(Preference.FEWEST_INCIDENTAL_KEYS)[1] <= figures(other)[1]
