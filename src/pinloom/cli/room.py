"""``pinloom room``: how many more change keys fit."""

from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.cli.rest import books_of, books_options
from pinloom.core.findings import has_fault


@click.command()
@click.argument("folder", type=ANY, metavar="DIR")
@click.option("--under", multiple=True, metavar="KEY", help="Only under this master; repeated.")
@click.option(
    "--show-cuts", type=click.IntRange(min=0), default=0, metavar="N", help="Show the next N cuts."
)
@passphrase_option
@books_options
@screen_options
def command(
    folder: Path,
    under: tuple[str, ...],
    show_cuts: int,
    passphrase: str | None,
    ledger: str | None,
    system: str,
    rest: int,
    ledger_passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Show how many more change keys fit under each master with nothing touched.

    DIR holds the job. The lower number certainly fits together, the upper is never exceeded. Room
    that the design was asked for is shown first, as far as it is still kept.
    """
    from pinloom.cli.roomtold import left_figures, show_left, show_left_shortly, show_next
    from pinloom.cli.screen import Screen
    from pinloom.workflow.room import room_left

    del full
    screen = Screen(quiet=quiet, silent=as_json)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    books, remarks = books_of(ledger, system, rest, ledger_passphrase)
    if has_fault(remarks):
        return screen.refuse((*given.findings, *remarks))
    result = room_left(folder, under, show_cuts, given.passphrase, books)
    findings = (*given.findings, *remarks, *result.findings)
    if result.job is None:
        return screen.refuse(findings)
    made = result.job.key_format
    if as_json:
        rooms = [left_figures(one, made, cuts=show_cuts > 0) for one in result.rooms]
        screen.json({"exit": int(Exit.DONE), "rooms": rooms})
        return Exit.DONE
    if quiet:
        show_left_shortly(screen, result.rooms)
        return Exit.DONE
    show_left(screen, result.rooms)
    if show_cuts:
        show_next(screen, result.rooms, made)
    screen.findings(remarks + result.findings)
    return Exit.DONE
