"""Jobs designed with room for further change keys, and a plain second opinion on what is kept."""

from dataclasses import replace
from pathlib import Path
from random import Random

from pinloom.core.findings import has_fault
from pinloom.core.groups import with_further
from pinloom.core.job import Job
from pinloom.hardware import format_text, load_format
from pinloom.workflow.design import DesignOrder, DesignResult, design_job
from pinloom.workflow.inputs import ChartSource
from tests.growth.kit import right
from tests.workflow.kit import codes, write

QUAY = Path(__file__).parents[2] / "src/pinloom/workflow/alder_quay"


def tiny_format(folder: Path, chambers: int, depths: int, least_step: int = 1) -> Path:
    """A format file small enough for brute force: MACS forbids nothing, one master pin."""
    made = load_format("us-5x6-023").format
    assert made is not None
    tiny = replace(
        made,
        name=f"tiny-{chambers}x{depths}",
        chambers=chambers,
        depths=made.depths[:depths],
        macs=depths - 1,
        least_step=least_step,
        master_pins=tuple(range(least_step, depths)),
    )
    path = folder / f"{tiny.name}.toml"
    path.write_text(format_text(tiny), encoding="utf-8")
    return path


def designed(
    folder: Path, chart: str, hardware: str, *, keys: str = "", **how: object
) -> DesignResult:
    """A design of a chart given as text, written to ``folder/job``."""
    paths = write(folder, chart=chart, keys=keys)
    return design_job(
        DesignOrder(
            chart=ChartSource(path=paths["chart"], keys=paths["keys"] if keys else None),
            hardware=hardware,
            out=folder / str(how.pop("out", "job")),
            name="test",
            **how,  # type: ignore[arg-type]
        )
    )


def job_of(result: DesignResult) -> Job:
    """The job of a result that must have one, proved."""
    assert result.job is not None, (codes(result.findings), result.outcome)
    assert result.job.proof.proved
    assert not has_fault(result.findings)
    return result.job


def holds(job: Job) -> bool:
    """Whether all kept keys together, each in a door of its own, do what they shall while all that
    is there stays: by levels, pair by pair, without the program's own proof.
    """
    further = with_further(job.chart, {one.under: len(one.cuts) for one in job.kept})
    known = dict(job.cuts())
    for one in job.kept:
        known |= dict(zip(further.keys[one.under], one.cuts, strict=True))
    rows = tuple(known[key.name] for key in further.chart.keys)
    before = dict(zip((d.name for d in job.chart.doors), job.pinning, strict=True))
    splits = []
    for door, row in zip(further.chart.doors, further.chart.openers, strict=True):
        if door.name in before:
            stacks = before[door.name].chambers
            splits.append([set(stack.cuts()) for stack in stacks if stack is not None])
        else:
            splits.append([{rows[k][p] for k in row} for p in range(job.key_format.chambers)])
    return right(further.chart, job.key_format, rows, splits)


def quay(folder: Path, *room: str, order: int | None = None) -> Job:
    """Alder Quay on its format with room; ``order`` shuffles the rows of both tables."""
    tables = {}
    for name in ("doors", "keys"):
        head, *rows = (QUAY / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        if order is not None:
            Random(order).shuffle(rows)
        tables[name] = "\n".join([head, *rows]) + "\n"
    paths = write(folder, **tables)
    return job_of(
        design_job(
            DesignOrder(
                chart=ChartSource(path=paths["doors"], keys=paths["keys"]),
                hardware="us-6x10-014a",
                out=folder / f"quay{order or ''}",
                name="Alder Quay",
                room=room,
                budget=1_000,
            )
        )
    )
