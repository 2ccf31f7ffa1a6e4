"""``pinloom pin``: existing cuts and pins, taken as they are."""

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


@click.command()
@chart_options
@click.option(
    "--bittings", required=True, type=ANY, metavar="FILE", help="Table of the existing cuts."
)
@click.option("--pinning", type=ANY, metavar="FILE", help="Table of pins found in the field.")
@control_option
@hardware_option
@out_option
@security_option
@click.option(
    "--mend", is_flag=True, help="Find the least that mends it; cuts and pins may be unknown (?)."
)
@click.option(
    "--may-recut",
    "may_recut",
    multiple=True,
    metavar="KEY",
    help="With --mend: only this key may get new cuts; repeated; any key if not given.",
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
    bittings: Path,
    pinning: Path | None,
    controls: tuple[str, ...],
    hardware: str,
    out: Path,
    security_drivers: bool,
    mend: bool,
    may_recut: tuple[str, ...],
    name: str,
    door: str | None,
    seal: bool,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Pin existing cuts as they are, prove them, report every fault.

    CHART says who shall open what. Nothing is changed to make it come true: what the cuts and
    pins do instead is reported, key by door. With --mend the least change that makes it come true
    is found, and the mended job is written.
    """
    from pinloom.cli.report import Report
    from pinloom.workflow.pin import PinOrder, pin

    report = Report(quiet=quiet, as_json=as_json, full=full)
    given = secrets(passphrase, seal=seal, controls=controls)
    if has_fault(given.findings):
        return report.refuse(given.findings)
    order = PinOrder(
        chart=source(chart, keys, sheet, symbols, keyways),
        hardware=hardware,
        bittings=bittings,
        out=out,
        pinning=pinning,
        controls=given.controls,
        security_drivers=security_drivers,
        name=name,
        passphrase=given.passphrase,
    )
    if mend:
        from pinloom.cli.mending import Shown, mending

        shown = Shown(door=door, quiet=quiet, as_json=as_json, full=full)
        return mending(report, order, may_recut, given.findings, shown)
    if may_recut:
        raise click.UsageError("--may-recut goes with --mend")
    result = pin(order)
    findings = (*given.findings, *result.findings)
    if result.job is None or result.saved is None:
        return report.refuse(findings)
    return report.job(result.job, result.saved, out, findings, door)
