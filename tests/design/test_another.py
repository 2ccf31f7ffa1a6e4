"""Another seed: other cuts, the same merit, still right."""

from collections.abc import Mapping

import pytest

from pinloom.core.bitting import PartialBitting
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Preference
from pinloom.core.request import Designed, DesignRequest
from pinloom.design import design
from pinloom.proof import prove
from tests.audit.jobs import chart_of
from tests.proof.formats import tiny, us_6x10_015
from tests.proof.jobs import k1_chart, pin_chart

TREE = {
    "A1": "a1 A TMK",
    "A2": "a2 A TMK",
    "B1": "b1 B TMK",
    "B2": "b2 B TMK",
    "front": "a1 a2 b1 b2 A B TMK",
}
CHARTS = {
    "one master": chart_of({f"d{n}": f"k{n} TMK" for n in range(5)}),
    "tree": chart_of(TREE),
    "crossed": k1_chart(),
    "two single keys": chart_of({"d": "a", "e": "b"}),
}


def ask(
    chart: AccessChart,
    made: HardwareFormat,
    seed: int,
    preference: Preference = Preference.FEWEST_MASTER_PINS,
    fixed: Mapping[int, PartialBitting] | None = None,
) -> Designed:
    """A design by a seed."""
    outcome = design(
        DesignRequest(
            chart=chart,
            key_format=made,
            cylinder_formats=(made,) * len(chart.doors),
            fixed=tuple((fixed or {}).get(k) for k in range(len(chart.keys))),
            seed=seed,
            preference=preference,
            budget=300,
        )
    )
    assert isinstance(outcome, Designed)
    return outcome


@pytest.mark.parametrize("preference", [Preference.FEWEST_MASTER_PINS, Preference.FEWEST_PIN_SIZES])
@pytest.mark.parametrize("name", CHARTS)
def test_other_seed_other_design_of_equal_merit(name: str, preference: Preference) -> None:
    """Small charts of four kinds: each of three seeds gives other cuts, not the same cuts dealt to
    other keys, with the same figure, all proved, and the same again when asked again.
    """
    chart, made = CHARTS[name], us_6x10_015()
    seen: set[frozenset[tuple[int, ...]]] = set()
    values = set()
    for seed in (0, 1, 2):
        outcome = ask(chart, made, seed, preference)
        pins = pin_chart(chart, outcome.bittings)
        formats = [made] * len(chart.doors)
        assert prove(chart, made, formats, outcome.bittings, (), pins).proved
        seen.add(frozenset(outcome.bittings))
        values.add(tuple((claim.measure, claim.value) for claim in outcome.claims))
        assert ask(chart, made, seed, preference) == outcome
    assert len(seen) == 3
    assert len(values) == 1


def test_rules_about_single_keys_still_hold() -> None:
    """Narrow MACS and given cuts are kept under every seed."""
    made = tiny(4, 6, macs=2)
    chart = CHARTS["one master"]
    top = chart.key_index()["TMK"]
    given: dict[int, PartialBitting] = {top: (2, 2, None, 1)}
    for seed in range(4):
        outcome = ask(chart, made, seed, fixed=given)
        assert outcome.bittings[top][:2] == (2, 2)
        assert outcome.bittings[top][3] == 1
        assert all(
            abs(a - b) <= 2
            for word in outcome.bittings
            for a, b in zip(word, word[1:], strict=False)
        )
