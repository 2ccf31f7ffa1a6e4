"""The drafted clinic is designed and proved, with and without service keys, on two formats.

Building: BSI (2020) "Medical-Dental Test Files", buildingSMART International, Community Sample Test
Files, CC BY 4.0; shortened to six sheets.
"""

from pathlib import Path

import pytest

from pinloom.core.request import Designed
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.draft import Grouping, draft
from pinloom.workflow.inputs import ChartSource
from tests.draft.kit import clinic

pytestmark = pytest.mark.published


@pytest.mark.slow
@pytest.mark.parametrize("hardware", ["us-6x10-015", "ic-7x10-0125"])
@pytest.mark.parametrize("services", [False, True])
def test_the_clinic_is_designed(tmp_path: Path, hardware: str, services: bool) -> None:
    """Department masters, floor keys, service keys and the top key: all of it is proved."""
    chart = tmp_path / "chart.xlsx"
    assert draft(clinic(), chart, Grouping.BOTH, services=services).written
    order = DesignOrder(chart=ChartSource(path=chart), hardware=hardware, out=tmp_path / "job")
    result = design_job(order)
    assert isinstance(result.outcome, Designed)
    assert result.job is not None
    assert result.job.proof.proved
    keys = {key.name for key in result.job.chart.keys}
    assert len(result.job.chart.doors) == 186
    assert {"TOP", "AA", "FLOOR1", "FLOOR2", "ENTRANCE"} <= keys
    assert ({"CLEANING", "PLANT", "INFOTECH", "SECURITY"} <= keys) == services
