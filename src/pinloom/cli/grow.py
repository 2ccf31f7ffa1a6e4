"""``pinloom grow``: a changed chart on an existing job."""

from pathlib import Path

import click

from pinloom.cli.options import (
    ANY,
    chart_options,
    out_option,
    passphrase_option,
    screen_options,
    secrets,
    source,
)
from pinloom.cli.rest import books_of, books_options
from pinloom.core.findings import has_fault

MOST_LINES = 60  # changes shown without --full


@click.command()
@click.argument("folder", type=ANY, metavar="DIR")
@chart_options
@click.option(
    "--may-recut",
    "may_recut",
    multiple=True,
    metavar="KEY",
    help="Key that may get new cuts if nothing else helps; repeated; * for all.",
)
@out_option
@passphrase_option
@books_options
@click.option("--door", metavar="NAME", help="Door whose pinning chart is shown.")
@screen_options
def command(
    folder: Path,
    chart: Path,
    keys: Path | None,
    sheet: str | None,
    symbols: bool,
    keyways: Path | None,
    may_recut: tuple[str, ...],
    out: Path,
    passphrase: str | None,
    ledger: str | None,
    system: str,
    rest: int,
    ledger_passphrase: str | None,
    door: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Bring an existing job to a changed chart; keys that are cut stay cut.

    DIR holds the job, CHART is the wanted chart, larger or smaller. Keys that CHART no longer
    names still exist somewhere: they stay in the proof as keys that shall open nothing.
    """
    from pinloom.cli.progress import Progress
    from pinloom.cli.report import Report
    from pinloom.workflow.grow import GrowOrder, grow_job
    from pinloom.workflow.roomtold import told_kept

    report = Report(quiet=quiet, as_json=as_json, full=full)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return report.refuse(given.findings)
    books, said = books_of(ledger, system, rest, ledger_passphrase)
    if has_fault(said):
        return report.refuse((*given.findings, *said))
    order = GrowOrder(
        folder=folder,
        chart=source(chart, keys, sheet, symbols, keyways),
        out=out,
        may_recut=may_recut,
        passphrase=given.passphrase,
        books=books,
    )
    with Progress(quiet=quiet or as_json) as progress:
        result = grow_job(order, progress)
    findings = (*given.findings, *said, *result.findings)
    if result.refusal is not None and not has_fault(findings):
        return report.not_grown(result.refusal, findings)
    if result.job is None or result.saved is None:
        return report.refuse(findings)
    if not as_json:
        report.changes(result.changes)
    room = told_kept(result.job)
    return report.job(result.job, result.saved, out, findings, door, room=room)
