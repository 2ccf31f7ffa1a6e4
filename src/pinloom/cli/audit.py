"""``pinloom audit``: what else opens the doors of a job."""

from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.core.findings import has_fault


@click.command()
@click.argument("folder", metavar="DIR", type=ANY)
@click.option(
    "--show-cuts",
    is_flag=True,
    help="Show the cuts of incidental keys: as good as a master key, keep them locked away.",
)
@click.option(
    "--compare", "beside", type=ANY, metavar="DIR", help="Another design of the same chart."
)
@click.option("--pictures", type=ANY, metavar="OUT", help="Folder for pictures (SVG).")
@passphrase_option
@screen_options
def command(
    folder: Path,
    show_cuts: bool,
    beside: Path | None,
    pictures: Path | None,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Count what else opens these doors, on proved and on faulty jobs.

    DIR is a job folder. Nothing in it is changed.
    """
    from pinloom.cli.audit_report import AuditReport
    from pinloom.cli.report import Report
    from pinloom.cli.screen import Screen
    from pinloom.workflow.audit import AuditOrder, audit_folder
    from pinloom.workflow.audit import as_json as told

    report = Report(quiet=quiet, as_json=as_json, full=full)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return report.refuse(given.findings)
    result = audit_folder(
        AuditOrder(folder=folder, passphrase=given.passphrase, beside=beside, pictures=pictures)
    )
    findings = (*given.findings, *result.findings)
    if result.job is None or result.audit is None:
        return report.refuse(findings)
    screen = Screen(quiet=quiet, silent=as_json)
    if as_json:
        screen.json(told(result.audit))
    else:
        AuditReport(screen, result.job, result.audit, full=full).show(result, findings, show_cuts)
    if has_fault(findings):
        return Exit.BAD_INPUT
    return Exit.DONE if result.job.proof.proved else Exit.FAULTS
