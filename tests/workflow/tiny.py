"""A job on tiny hardware, two chambers and three depths, whose limits can be counted by hand."""

from dataclasses import replace
from pathlib import Path

from pinloom.core.job import Job
from pinloom.hardware import format_text, load_format
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.inputs import ChartSource

CHART = "door,T,A,B,C\nLoft 1,x,x,,\nLoft 2,x,,x,\nLoft 3,x,,,x\n"


def tiny_job(out: Path, work: Path) -> Job:
    """Three change keys under a master. Two levels a chamber are left beside the master's, so that
    four change keys are the most that counting allows, and five are impossible.
    """
    made = load_format("us-5x6-023").format
    assert made is not None
    tiny = replace(
        made,
        name="tiny-2x3",
        chambers=2,
        depths=made.depths[:3],
        macs=2,
        master_pins=tuple(size for size in made.master_pins if size <= 2),
    )
    (work / "tiny.toml").write_text(format_text(tiny), encoding="utf-8")
    (work / "tiny.csv").write_text(CHART, encoding="utf-8")
    result = design_job(
        DesignOrder(
            chart=ChartSource(path=work / "tiny.csv"),
            hardware=str(work / "tiny.toml"),
            out=out,
            name="Tiny",
            budget=500,
        )
    )
    assert result.job is not None, [one.code for one in result.findings]
    assert result.job.proof.proved
    return result.job
