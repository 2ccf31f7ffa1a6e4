"""The random charts of the property tests are worth testing with."""

from collections import Counter

from hypothesis import HealthCheck, given, settings

from pinloom.chart.rows import matrix_sheets, schedule_sheets
from pinloom.core.chart import NMK, AccessChart, KeyStanding
from tests.chart.strategies import charts


def features(chart: AccessChart) -> set[str]:
    """What of interest a chart has."""
    under = {key.name: key.under for key in chart.keys}
    told = {
        "three levels": any(under.get(key.under) for key in chart.keys),
        "not master keyed": any(door.excepted == (NMK,) for door in chart.doors),
        "a master excepted": any(d.excepted and NMK not in d.excepted for d in chart.doors),
        "a retired key": any(key.standing is KeyStanding.RETIRED for key in chart.keys),
        "a name with a blank": any(" " in key.name for key in chart.keys),
        "blanks": bool(chart.blanks),
        "four by four": len(chart.doors) > 3 and len(chart.keys) > 3,
        "written as matrix": not matrix_sheets(chart).findings,
        "written as schedule": not schedule_sheets(chart).findings,
    }
    return {name for name, holds in told.items() if holds}


def test_random_charts_are_not_all_trivial() -> None:
    """Each feature that the round trip must keep occurs in at least one of twenty charts; most can
    be written in both forms.
    """
    seen: Counter[str] = Counter()

    @given(chart=charts())
    @settings(max_examples=200, suppress_health_check=list(HealthCheck))
    def look(chart: AccessChart) -> None:
        seen.update({"all"} | features(chart))

    look()
    assert seen.pop("all") >= 200
    assert len(seen) == 9
    assert min(seen.values()) >= 10
    assert min(seen["written as matrix"], seen["written as schedule"]) >= 150
