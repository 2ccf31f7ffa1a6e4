"""``pinloom room``: how many more change keys fit."""

from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.core.findings import has_fault


@click.command()
@click.argument("folder", type=ANY, metavar="DIR")
@click.option("--under", multiple=True, metavar="KEY", help="Only under this master; repeated.")
@click.option(
    "--show-cuts", type=click.IntRange(min=0), default=0, metavar="N", help="Show the next N cuts."
)
@passphrase_option
@screen_options
def command(
    folder: Path,
    under: tuple[str, ...],
    show_cuts: int,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Show how many more change keys fit under each master with nothing touched.

    DIR holds the job. The lower number certainly fits together, the upper is never exceeded.
    """
    from pinloom.cli.screen import Screen
    from pinloom.workflow.room import room_left

    del full
    screen = Screen(quiet=quiet, silent=as_json)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    result = room_left(folder, under, show_cuts, given.passphrase)
    if result.job is None:
        return screen.refuse((*given.findings, *result.findings))
    if as_json:
        screen.json(
            {
                "exit": int(Exit.DONE),
                "rooms": [
                    {"under": r.master, "existing": r.existing, "least": r.least, "most": r.most}
                    for r in result.rooms
                ],
            }
        )
        return Exit.DONE
    screen.heading("Room for further change keys, nothing touched")
    screen.table(
        ("under", "own doors now", "certainly fit", "at most"),
        [(r.master, f"{r.existing:,}", f"{r.least:,}", f"{r.most:,}") for r in result.rooms],
    )
    screen.say(
        "Each row stands by itself: a key taken under one master may use up room under another. "
        "30 to 50 % spare in each group is common practice, no source."
    )
    stamp = result.job.key_format.stamp
    for one in result.rooms if show_cuts else ():
        screen.heading(f"Next under {one.master} (confidential)")
        screen.say(", ".join(stamp(cut) for cut in one.following) or "none")
    return Exit.DONE
