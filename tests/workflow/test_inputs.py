"""What a design starts from: all faults of a chart at once, those of its hardware and cuts too."""

from pathlib import Path

from pinloom.core.findings import Severity
from pinloom.workflow.inputs import ChartSource, read_inputs
from tests.workflow.kit import FORMAT, codes, write


def test_faults_of_hardware_and_cuts_come_with_the_chart_s_own(tmp_path: Path) -> None:
    """An unknown key on a door, a format that is not there, one that takes other keys, and cuts of
    another format: four faults in one go, each named once."""
    paths = write(
        tmp_path,
        doors="door,keys,hardware\nLoft 1,AA1 nobody,\nLoft 2,AA2,no-such-format\n"
        "Loft 3,AA2,us-5x6-023\nLoft 4,AA1,no-such-format\n",
        keys="key,under,cuts\nAA1,,34562\nAA2,,345?21\n",
    )
    inputs = read_inputs(ChartSource(path=paths["doors"], keys=paths["keys"]), FORMAT)
    faults = [one for one in inputs.findings if one.severity is Severity.FAULT]
    assert sorted(codes(faults)) == [
        "chart-key-unknown",
        "hardware-unknown-format",
        "job-foreign-hardware",
        "job-given-cuts",
    ]
    assert inputs.chart is None
    assert inputs.fixed == ()
    assert inputs.cylinder_formats == ()


def test_a_sound_chart_is_read_as_before(tmp_path: Path) -> None:
    """The chart, the format of each door by its own name, and given cuts with what is open."""
    paths = write(
        tmp_path,
        doors="door,keys,hardware\nLoft 1,AA1,\nLoft 2,AA2,us-5x10-015\n",
        keys="key,under,cuts\nAA1,,\nAA2,,345?21\n",
    )
    inputs = read_inputs(ChartSource(path=paths["doors"], keys=paths["keys"]), FORMAT)
    assert inputs.chart is not None
    assert [made.name for made in inputs.cylinder_formats] == [FORMAT, "us-5x10-015"]
    assert inputs.fixed == (None, (3, 4, 5, None, 2, 1))
