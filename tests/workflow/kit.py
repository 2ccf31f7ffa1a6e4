"""Small jobs for the tests of use cases, as the files a user would have."""

from pathlib import Path

from pinloom.core.job import Job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.pin import PinOrder, PinResult, pin

# *Keynotes* (Associated Locksmiths of America), February 2022, printed p. 36: eight doors, four
# keys, with the bittings as printed there.
KEYNOTES_CHART = """\
door,maintenance,sales,quality,cleaning
101,x,x,x,x
102,,x,,
103,x,,,x
104A,,x,,x
104B,,x,,x
105,,,x,
106,,x,x,x
107,x,,,
"""
KEYNOTES_BITTINGS = """\
key,stamped
maintenance,345621
sales,365621
quality,343621
cleaning,345421
"""
# The mend (derived): cleaning as the common base, each other key off it in a chamber of its own.
MENDED_BITTINGS = """\
key,c1,c2,c3,c4,c5,c6,stamped
cleaning,3,4,5,6,2,1,345621
maintenance,3,6,5,6,2,1,365621
sales,3,4,3,6,2,1,343621
quality,3,4,5,4,2,1,345421
"""
FORMAT = "us-6x10-015"


def write(folder: Path, **files: str) -> dict[str, Path]:
    """Write texts as NAME.csv and give their paths by name."""
    paths = {}
    for name, text in files.items():
        paths[name] = folder / f"{name}.csv"
        paths[name].write_text(text, encoding="utf-8")
    return paths


def pinned(
    folder: Path,
    bittings: str = MENDED_BITTINGS,
    *,
    chart: str = KEYNOTES_CHART,
    out: Path | None = None,
    passphrase: str | None = None,
) -> PinResult:
    """The published chart pinned for some cuts, written to ``folder/job`` or ``out``."""
    paths = write(folder, chart=chart, cuts=bittings)
    return pin(
        PinOrder(
            chart=ChartSource(path=paths["chart"]),
            hardware=FORMAT,
            bittings=paths["cuts"],
            out=out or folder / "job",
            name="Alder Quay office",
            passphrase=passphrase,
        )
    )


def job_of(result: PinResult) -> Job:
    """The job of a result that must have one."""
    assert result.job is not None, [one.code for one in result.findings]
    return result.job


def codes(findings: object) -> list[str]:
    """The codes of findings, for short assertions."""
    return [one.code for one in findings]  # type: ignore[attr-defined]
