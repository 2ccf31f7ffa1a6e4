"""``pinloom give-back``: the keying of a proved job for the building's own records."""

from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, FILE, passphrase_option, secrets
from pinloom.cli.screen import Screen
from pinloom.core.findings import has_fault


@click.command()
@click.argument("folder", metavar="DIR", type=ANY)
@click.argument("building", type=ANY)
@click.option(
    "--out", required=True, type=FILE, metavar="FILE.xlsx", help="COBie Attribute rows to write."
)
@click.option("--plain", type=FILE, metavar="FILE.xlsx", help="The same as a plain workbook.")
@passphrase_option
@click.option("--quiet", is_flag=True, help="Print the verdict only.")
def command(
    folder: Path,
    building: Path,
    out: Path,
    plain: Path | None,
    passphrase: str | None,
    quiet: bool,
) -> int:
    """Give the keying of a proved job back to the building's records, without any cut.

    DIR is a job folder, BUILDING the workbook or model that the job was drafted from.
    """
    from pinloom.workflow.draft import give_back_job

    screen = Screen(quiet=quiet)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    result = give_back_job(folder, building, out, plain=plain, passphrase=given.passphrase)
    findings = (*given.findings, *result.findings)
    if result.job is None:
        unproved = any(one.code == "draft-give-back-unproved" for one in findings)
        return screen.refuse(findings, Exit.FAULTS if unproved else Exit.BAD_INPUT)
    screen.findings(findings)
    names = f"{out} and {plain}" if plain else str(out)
    screen.verdict(f"Given back to {names}: symbols and cylinders, no cuts.", good=True)
    return Exit.DONE
