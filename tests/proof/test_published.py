"""The proof against worked examples from print."""

import pytest

from pinloom.core.job import FaultKind
from pinloom.proof import prove
from tests.proof.formats import us_6x10_015
from tests.proof.jobs import K1_MENDED, K1_PRINTED, k1_bittings, k1_chart, pin_chart

pytestmark = pytest.mark.published


def test_k1_printed_bittings_have_three_faults() -> None:
    """K-1 as printed: the maintenance key opens 104A and 104B (seen) and 106 (derived), no more.

    Source: Keynotes (Associated Locksmiths of America), February 2022, printed p. 36.
    """
    chart, made = k1_chart(), us_6x10_015()
    bittings = k1_bittings(made, K1_PRINTED)
    pinning = pin_chart(chart, bittings)
    assert sum(cylinder.master_pins() for cylinder in pinning) == 11  # seen
    report = prove(chart, made, [made] * 8, bittings, (), pinning)
    assert [(f.kind, f.key, f.door) for f in report.faults] == [
        (FaultKind.OPENS, "maintenance", "104A"),
        (FaultKind.OPENS, "maintenance", "104B"),
        (FaultKind.OPENS, "maintenance", "106"),
    ]
    assert not report.proved
    assert report.pairs == 32


def test_k1_mended_is_proved_with_eight_master_pins() -> None:
    """K-1 with the cleaning key as common base: 8 master pins and no fault (derived from K-1)."""
    chart, made = k1_chart(), us_6x10_015()
    bittings = k1_bittings(made, K1_MENDED)
    pinning = pin_chart(chart, bittings)
    assert sum(cylinder.master_pins() for cylinder in pinning) == 8
    report = prove(chart, made, [made] * 8, bittings, (), pinning)
    assert report.proved
    assert report.tightest is not None
    assert (report.tightest.chambers, report.tightest.steps) == (1, 2)
