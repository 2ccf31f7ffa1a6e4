"""``pinloom design``: cuts for every key, pinned and proved."""

from pathlib import Path

import click

from pinloom.cli.options import (
    ANY,
    chart_options,
    control_option,
    hardware_option,
    out_option,
    screen_options,
    seal_options,
    secrets,
    security_option,
    source,
)
from pinloom.core.findings import has_fault

PREFERENCES = (
    "fewest-master-pins",
    "fewest-incidental-keys",
    "widest-margins",
    "fewest-pin-sizes",
)


@click.command()
@chart_options
@hardware_option
@out_option
@click.option(
    "--prefer",
    type=click.Choice(PREFERENCES),
    default=PREFERENCES[0],
    metavar="WHAT",
    help=f"What to make least or most of: {', '.join(PREFERENCES)}. The first, if not given.",
)
@click.option(
    "--seed", type=click.IntRange(min=0), default=0, help="Another number, another design."
)
@click.option(
    "--budget",
    type=click.IntRange(min=1),
    metavar="STEPS",
    help="Search steps before it gives up.",
)
@click.option(
    "--avoid",
    type=ANY,
    multiple=True,
    metavar="DIR|FILE",
    help="Job, or table of cuts, that no key may equal or open.",
)
@click.option(
    "--max-masters",
    type=click.IntRange(min=1),
    metavar="N",
    help="Most master pins in a chamber, below the format's own limit.",
)
@control_option
@click.option(
    "--room",
    multiple=True,
    metavar="KEY=N",
    help="Keep room for N further change keys under this master; N% of those it has; N alone for "
    "every group, 0 for none; repeated.",
)
@click.option(
    "--kit",
    type=ANY,
    metavar="FILE",
    help="Pins on hand, part,size,count: sizes as a rule, counts as a goal.",
)
@security_option
@click.option(
    "--no-remedies", is_flag=True, help="Without a design, do not look for what would help."
)
@click.option("--name", default="", help="Name of the job; the chart's name if not given.")
@click.option("--door", metavar="NAME", help="Door whose pinning chart is shown.")
@seal_options
@screen_options
def command(
    chart: Path,
    keys: Path | None,
    sheet: str | None,
    symbols: bool,
    keyways: Path | None,
    hardware: str,
    out: Path,
    prefer: str,
    seed: int,
    budget: int | None,
    avoid: tuple[Path, ...],
    max_masters: int | None,
    controls: tuple[str, ...],
    room: tuple[str, ...],
    kit: Path | None,
    security_drivers: bool,
    no_remedies: bool,
    name: str,
    door: str | None,
    seal: bool,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Design cuts for every key of a chart, pin every cylinder, prove them.

    CHART says who opens what. The answer is a proved system in DIR, a proof that none exists on
    this hardware, or that none was found within the budget.
    """
    from pinloom.cli.progress import Progress
    from pinloom.cli.report import Report
    from pinloom.core.job import Preference
    from pinloom.workflow.design import BUDGET, DesignOrder, design_job

    report = Report(quiet=quiet, as_json=as_json, full=full)
    given = secrets(passphrase, seal=seal, controls=controls)
    if has_fault(given.findings):
        return report.refuse(given.findings)
    order = DesignOrder(
        chart=source(chart, keys, sheet, symbols, keyways),
        hardware=hardware,
        out=out,
        name=name,
        preference=Preference(prefer),
        seed=seed,
        budget=budget or BUDGET,
        max_masters=max_masters,
        avoid=avoid,
        controls=given.controls,
        security_drivers=security_drivers,
        remedies=not no_remedies,
        room=room,
        kit=kit,
        passphrase=given.passphrase,
    )
    with Progress(quiet=quiet or as_json) as progress:
        result = design_job(order, progress)
    findings = (*given.findings, *result.findings)
    if result.job is not None and result.saved is not None:
        return report.job(
            result.job, result.saved, out, findings, door, kit=result.kit, room=result.room
        )
    if result.chart is None or result.outcome is None or has_fault(findings):
        return report.refuse(findings)
    return report.no_design(
        result.chart,
        result.outcome,
        findings,
        kit=result.kit,
        made=result.key_format,
        room=result.room,
    )
