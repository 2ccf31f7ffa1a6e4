"""Keeping the ledger itself: making, checking, saving and converting it."""

from pathlib import Path
from typing import Any

import click

from pinloom.cli.exits import Exit
from pinloom.cli.ledger_kit import ANY, FOLDER, Counter, pass_counter, passphrase_of
from pinloom.cli.screen import said
from pinloom.core.findings import has_fault

_WORD = "Passphrase of the ledger: @FILE, or - for standard input; else it is asked for."


def passphrase_option(function: Any) -> Any:
    """``--passphrase`` of the ledger."""
    return click.option("--passphrase", metavar="@FILE", help=_WORD)(function)


@click.command()
@passphrase_option
@pass_counter
def new(counter: Counter, passphrase: str | None) -> int:
    """Make a new, empty ledger."""
    from pinloom.workflow.ledger import new_ledger

    word = passphrase_of(counter, passphrase)
    if isinstance(word, int):
        return word
    made = new_ledger(counter.place, counter.clerk, word)
    if made.value is None:
        return counter.refuse(made.findings)
    if counter.as_json:
        counter.screen().json({"ledger": made.value})
    counter.screen().always(
        f"A new ledger is at {made.value}. Keep its passphrase where it cannot be lost: without it "
        "nobody can read cuts and pins again."
    )
    return Exit.DONE


@click.command()
@click.option(
    "--receipt",
    "receipts",
    multiple=True,
    metavar="NUMBER",
    help="A receipt's number to find in the chain; repeated.",
)
@pass_counter
def verify(counter: Counter, receipts: tuple[str, ...]) -> int:
    """Check every event, every seal and every table.

    Exit code 5 when anything was altered, removed or reordered; the findings name it.
    """
    from pinloom.workflow.ledger import check, desk

    with desk(counter.place, counter.clerk) as at:
        checked = check(at.value, receipts) if at.value else None
    if checked is None or checked.value is None:
        return counter.refuse(at.findings if checked is None else checked.findings)
    found, screen = checked.value, counter.screen()
    if counter.as_json:
        told = [said(one) for one in found.findings]
        screen.json({"sound": found.sound, "events": found.events, "findings": told})
        return Exit.DONE if found.sound else Exit.FAULTS
    screen.findings(found.findings)
    text = f"{found.events} events, the last {found.events}-{found.last[:16]}"
    if found.sound:
        screen.verdict(f"SOUND: {text}.", good=True)
        return Exit.DONE
    screen.verdict(f"NOT SOUND: {text}.", good=False)
    return Exit.FAULTS


@click.command()
@click.argument("file", type=ANY)
@pass_counter
def backup(counter: Counter, file: Path) -> int:
    """Write a checked backup to FILE, which is a ledger of its own."""
    from pinloom.workflow.ledger import back_up, desk

    with desk(counter.place, counter.clerk) as at:
        made = back_up(at.value, file) if at.value else None
    if made is None or made.value is None:
        return counter.refuse(at.findings if made is None else made.findings)
    number = f"{made.value.seq}-{made.value.hash[:16]}"
    if counter.as_json:
        counter.screen().json({"file": str(file), "last": number})
    counter.screen().always(f"Backup written and checked: {file}, up to event {number}.")
    return Exit.DONE


@click.command()
@click.argument("file", type=ANY)
@pass_counter
def restore(counter: Counter, file: Path) -> int:
    """Put the backup FILE in the ledger's place.

    A backup that is not sound is refused, and the ledger stays as it is.
    """
    from pinloom.workflow.ledger import bring_back

    made = bring_back(file, counter.place, counter.clerk)
    if made.value is None:
        return counter.refuse(made.findings)
    if counter.as_json:
        counter.screen().json({"ledger": made.value})
    counter.screen().findings(made.findings)
    counter.screen().always(f"Restored: {made.value}.")
    return Exit.DONE


@click.command()
@passphrase_option
@click.option("--new-passphrase", metavar="@FILE", help="The new one: @FILE, or -.")
@pass_counter
def passphrase(counter: Counter, passphrase: str | None, new_passphrase: str | None) -> int:
    """Change the passphrase, at once or not at all.

    Standard input: the old one, then the new one.
    """
    from pinloom.workflow.ledger import desk
    from pinloom.workflow.ledger import new_passphrase as change

    old = passphrase_of(counter, passphrase)
    word = old if isinstance(old, int) else passphrase_of(counter, new_passphrase)
    if isinstance(old, int) or isinstance(word, int):
        return int(word)
    with desk(counter.place, counter.clerk) as at:
        if at.value is None:
            return counter.refuse(at.findings)
        return counter.told(change(at.value, old, word))


@click.command()
@click.option("--again", is_flag=True, help="Work the tables out from the events in any case.")
@pass_counter
def upgrade(counter: Counter, again: bool) -> int:
    """Bring an older ledger to this version's form, at once or not at all."""
    from pinloom.workflow.ledger import upgrade as bring_up

    done = bring_up(counter.place, counter.clerk, again=again)
    if done.value is None:
        return counter.refuse(done.findings)
    if counter.as_json:
        counter.screen().json({"upgraded": done.value})
    counter.screen().always("Upgraded." if done.value else "It has the newest form already.")
    return Exit.DONE


@click.command()
@click.argument("files", type=ANY, nargs=-1, required=True)
@click.option("--apply", is_flag=True, help="Record them; without it they are only judged.")
@pass_counter
def lists(counter: Counter, files: tuple[Path, ...], apply: bool) -> int:
    """Bring in a shop's lists, FILES in CSV or XLSX: first judged, then with --apply recorded.

    Lists go by the name of the file or sheet: sites, people, signatories, blanks, keys, doors,
    cylinders.
    """
    from pinloom.workflow.ledger import bring_lists, desk

    with desk(counter.place, counter.clerk) as at:
        if at.value is None:
            return counter.refuse(at.findings)
        outcome = bring_lists(at.value, files, dry=not apply)
    if has_fault(outcome.findings) or apply:
        return counter.told(outcome)
    screen = counter.screen()
    if counter.as_json:
        told = [said(one) for one in outcome.findings]
        screen.json({"would_record": len(outcome.events), "findings": told})
    screen.findings(outcome.findings)
    screen.always(
        f"The lists are good: {len(outcome.events)} events would be recorded. Nothing was; "
        "repeat with --apply."
    )
    return Exit.DONE


@click.command()
@click.argument("folder", type=FOLDER)
@pass_counter
def export(counter: Counter, folder: Path) -> int:
    """Write everything to FOLDER in open formats: CSV, XLSX and JSON lines."""
    from pinloom.workflow.ledger import desk
    from pinloom.workflow.ledger import export as write

    with desk(counter.place, counter.clerk) as at:
        made = write(at.value, folder) if at.value else None
    if made is None or made.value is None:
        return counter.refuse(at.findings if made is None else made.findings)
    if counter.as_json:
        counter.screen().json({"folder": str(folder), "files": made.value})
    counter.screen().always(f"Written to {folder}: {', '.join(made.value)}.")
    return Exit.DONE


COMMANDS = (new, verify, backup, restore, passphrase, upgrade, lists, export)
