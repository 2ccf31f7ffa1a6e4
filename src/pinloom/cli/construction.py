"""``pinloom construction``: a temporary key until the owner's keys take over."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.core.findings import has_fault

if TYPE_CHECKING:
    from pinloom.cli.screen import Screen
    from pinloom.workflow.construction import ConstructionResult

METHODS = {"reserved-chamber": "RESERVED_CHAMBER", "split-pin": "SPLIT_PIN"}
MOST = 60


@click.command()
@click.argument("folder", type=ANY, metavar="DIR")
@click.option(
    "--out", required=True, type=ANY, metavar="OUT", help="Folder for both states of the job."
)
@click.option(
    "--method",
    type=click.Choice(list(METHODS)),
    default="reserved-chamber",
    show_default=True,
    help="How the temporary cut lies to the owner's.",
)
@click.option(
    "--door", "doors", multiple=True, metavar="NAME", help="Door of the key; repeated; else all."
)
@click.option("--under", default="", metavar="KEY", help="All doors that this key opens.")
@click.option("--key", default="construction", show_default=True, help="Name of the key.")
@passphrase_option
@screen_options
def command(
    folder: Path,
    out: Path,
    method: str,
    doors: tuple[str, ...],
    under: str,
    key: str,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Add a temporary key for the time of building, proved before and after the changeover.

    DIR holds a proved job. OUT/before is the job while building, OUT/after the job once the
    owner's keys have taken over, with the temporary key as one that must open nothing.
    """
    from pinloom.cli.screen import Screen
    from pinloom.workflow.construction import (
        ConstructionMethod,
        ConstructionOrder,
        construction_key,
    )

    screen = Screen(quiet=quiet, silent=as_json)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    result = construction_key(
        ConstructionOrder(
            folder=folder,
            out=out,
            method=ConstructionMethod[METHODS[method]],
            doors=doors,
            under=under,
            key=key,
            passphrase=given.passphrase,
        )
    )
    findings = (*given.findings, *result.findings)
    if result.before is None or result.after is None or has_fault(findings):
        return screen.refuse(findings, _refusal(result))
    return _show(screen, result, out, as_json=as_json, full=full)


def _refusal(result: "ConstructionResult") -> Exit:
    if result.job is None:
        unproved = any(one.code == "bench-not-proved" for one in result.findings)
        return Exit.FAULTS if unproved else Exit.BAD_INPUT
    return Exit.IMPOSSIBLE if result.impossible else Exit.GAVE_UP


def _show(
    screen: "Screen", result: "ConstructionResult", out: Path, *, as_json: bool, full: bool
) -> Exit:
    from pinloom.messages.words import PARTS

    states = [s.job for s in (result.before, result.after) if s is not None and s.job is not None]
    proved = len(states) == 2 and all(job.proof.proved for job in states)
    code = Exit.DONE if proved else Exit.FAULTS
    if as_json:
        screen.json(
            {
                "exit": int(code),
                "proved": proved,
                "doors": sorted({one.door for one in result.changes}),
                "chamber": result.changes[0].chamber if result.changes else None,
            }
        )
        return code
    screen.heading("Changeover: what to set anew")
    shown = result.changes if full else result.changes[:MOST]
    screen.table(
        ("door", "chamber", "take out", "put in"),
        [
            (
                one.door,
                str(one.chamber),
                *(
                    ", ".join(f"{PARTS[part.kind]} {part.size}" for part in side)
                    for side in (one.out, one.into)
                ),
            )
            for one in shown
        ],
        wrap=("take out", "put in"),
    )
    if len(shown) < len(result.changes):
        left = len(result.changes) - len(shown)
        screen.say(f"... and {left:,} more (--full shows all).")
    screen.heading("To look at")
    screen.findings(result.findings)
    screen.points(
        [
            "Collect and destroy every copy of the construction key at the changeover.",
            "Egress and fire doors stay free from inside while building, too.",
            "Try the construction key in every door after the changeover: it must open none.",
        ]
    )
    word = "PROVED before and after the changeover." if proved else "NOT PROVED."
    screen.verdict(f"\n{word}", good=proved)
    screen.always(f"Written to {out}: before, after.")
    return code
