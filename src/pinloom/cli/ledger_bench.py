"""Revisions, approval, orders, copies, cylinders: the bench side of the ledger."""

from pathlib import Path

import click

from pinloom.cli import ledger_show as show
from pinloom.cli.exits import Exit
from pinloom.cli.ledger_keep import passphrase_option
from pinloom.cli.ledger_kit import FILE, FOLDER, Counter, pass_counter, passphrase_of, why_option
from pinloom.cli.rest import rest_option
from pinloom.cli.rest import show as show_resting


@click.command(name="import")
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option("--site", required=True, metavar="NAME", help="The site it is for.")
@click.option("--system", default="", metavar="NAME", help="The system; else the job's name.")
@click.option("--building", default="", metavar="NAME", help="Building of doors not placed yet.")
@passphrase_option
@click.option("--folder-passphrase", metavar="@FILE", help="Passphrase of a sealed job folder.")
@pass_counter
def bring(
    counter: Counter,
    folder: Path,
    site: str,
    system: str,
    building: str,
    passphrase: str | None,
    folder_passphrase: str | None,
) -> int:
    """Bring in the job folder DIR as the next revision of a system; it is proved anew.

    Standard input: the folder's passphrase first, then the ledger's.
    """
    from pinloom.workflow.ledger import Entry, bring_job, desk

    sealed = passphrase_of(counter, folder_passphrase) if folder_passphrase is not None else None
    word = sealed if isinstance(sealed, int) else passphrase_of(counter, passphrase)
    if isinstance(sealed, int) or isinstance(word, int):
        return int(word)
    entry = Entry(
        folder=folder, site=site, system=system, building=building, folder_passphrase=sealed
    )
    with desk(counter.place, counter.clerk) as at:
        if at.value is None:
            return counter.refuse(at.findings)
        return counter.told(bring_job(at.value, entry, word))


@click.command()
@click.argument("system")
@click.argument("revision", type=int)
@click.option("--by", required=True, metavar="NAME", help="Who approves.")
@click.option("--authority", required=True, metavar="TEXT", help="On what written authority.")
@why_option()
@pass_counter
def approve(counter: Counter, system: str, revision: int, by: str, authority: str, why: str) -> int:
    """Approve REVISION of SYSTEM for cutting, pinning and issuing; it must be proved."""
    return counter.record(
        "approve", system=system, number=revision, by=by, authority=authority, why=why
    )


@click.command()
@click.argument("name", required=False, metavar="SYSTEM")
@pass_counter
def system(counter: Counter, name: str | None) -> int:
    """List the systems, or show what is left to do in one SYSTEM."""
    if name is None:
        return counter.ask("systems", show.systems)
    return counter.ask("one_system", show.system, system=name)


@click.command()
@click.argument("system")
@click.argument("key")
@click.argument("person")
@click.option("--copies", type=int, default=1, metavar="N", help="How many; 1 if not given.")
@click.option("--blank", default="", metavar="NAME", help="On this blank; else the chart's.")
@why_option()
@pass_counter
def order(
    counter: Counter, system: str, key: str, person: str, copies: int, blank: str, why: str
) -> int:
    """PERSON orders copies of KEY of SYSTEM."""
    return counter.record(
        "order", system=system, key=key, person=person, copies=copies, blank=blank, why=why
    )


@click.command()
@click.argument("system")
@click.argument("key")
@click.option("--copies", type=int, default=1, metavar="N", help="How many; 1 if not given.")
@click.option("--order", "order_number", type=int, metavar="N", help="Number of the order.")
@click.option("--blank", default="", metavar="NAME", help="On this blank; else the order's.")
@click.option(
    "--stamp", "stamps", multiple=True, metavar="TEXT", help="Stamp of a copy; one for each."
)
@why_option()
@pass_counter
def cut(
    counter: Counter,
    system: str,
    key: str,
    copies: int,
    order_number: int | None,
    blank: str,
    stamps: tuple[str, ...],
    why: str,
) -> int:
    """Copies of KEY of SYSTEM were cut, from the approved revision."""
    return counter.record(
        "cut",
        system=system,
        key=key,
        copies=copies,
        order_number=order_number,
        blank=blank,
        stamps=stamps,
        why=why,
    )


@click.command()
@click.argument("system")
@click.argument("door")
@click.option("--mark", default="", metavar="TEXT", help="One cylinder; else all of the door.")
@click.option("--at", "place", default="", metavar="PLACE", help="It is a spare, kept here.")
@why_option()
@pass_counter
def pin(counter: Counter, system: str, door: str, mark: str, place: str, why: str) -> int:
    """Cylinders of SYSTEM were pinned for DOOR, from the approved revision."""
    return counter.record("pin", system=system, door=door, mark=mark, place=place, why=why)


@click.command()
@click.argument("system")
@click.argument("mark")
@click.option("--door", default="", metavar="NAME", help="It goes into this door.")
@click.option("--at", default="", metavar="PLACE", help="It is kept here.")
@click.option("--instead-of", default="", metavar="MARK", help="The cylinder it replaces.")
@click.option("--old-to", default="", metavar="PLACE", help="Where the replaced one goes.")
@why_option()
@pass_counter
def place(
    counter: Counter,
    system: str,
    mark: str,
    door: str,
    at: str,
    instead_of: str,
    old_to: str,
    why: str,
) -> int:
    """The cylinder or core MARK of SYSTEM goes to a door or to a place."""
    return counter.record(
        "place",
        system=system,
        mark=mark,
        door=door,
        at=at,
        instead_of=instead_of,
        old_to=old_to,
        why=why,
    )


@click.command()
@click.argument("system")
@pass_counter
def spares(counter: Counter, system: str) -> int:
    """Show the pinned cylinders and cores of SYSTEM that are at no door, and where they are."""
    return counter.ask("spares", show.cylinders, system=system)


@click.command()
@click.argument("system", required=False)
@click.argument("file", type=FILE, required=False)
@why_option()
@pass_counter
def inventory(counter: Counter, system: str | None, file: Path | None, why: str) -> int:
    """Compare what was seen, FILE, with the books of SYSTEM; without both, list what is due.

    FILE is CSV with the columns what (key or cylinder), mark, where (holder, door or place; empty
    for the cabinet).
    """
    if system is None or file is None:
        return counter.ask("due", show.counts_due)
    from pinloom.workflow.ledger import desk, take_inventory

    with desk(counter.place, counter.clerk) as at:
        if at.value is None:
            return counter.refuse(at.findings)
        outcome, differences = take_inventory(at.value, system, file, why)
    code = counter.told(outcome)
    if outcome.done and not counter.as_json:
        show.differences(counter.screen(), differences)
    return code


@click.command()
@click.argument("system")
@click.argument("key")
@passphrase_option
@pass_counter
def cuts(counter: Counter, system: str, key: str, passphrase: str | None) -> int:
    """Show the cuts of KEY of SYSTEM as the approved revision has them. Confidential."""
    from pinloom.workflow.ledger import cuts as cuts_of
    from pinloom.workflow.ledger import desk

    word = passphrase_of(counter, passphrase)
    if isinstance(word, int):
        return word
    with desk(counter.place, counter.clerk) as at:
        found = cuts_of(at.value, word, system, key) if at.value else None
    if found is None or found.value is None:
        return counter.refuse(at.findings if found is None else found.findings)
    revision, stamped = found.value
    if counter.as_json:
        counter.screen().json({"revision": revision, "key": key, "stamped": stamped})
    counter.screen().always(f"{key}, revision {revision}: {stamped}")
    return Exit.DONE


@click.command()
@click.argument("system")
@click.argument("door")
@passphrase_option
@pass_counter
def pins(counter: Counter, system: str, door: str, passphrase: str | None) -> int:
    """Show the pins of DOOR of SYSTEM: as approved, and as they are in it now. Confidential."""
    from pinloom.workflow.ledger import desk
    from pinloom.workflow.ledger import pins as pins_of

    word = passphrase_of(counter, passphrase)
    if isinstance(word, int):
        return word
    with desk(counter.place, counter.clerk) as at:
        found = pins_of(at.value, word, system, door) if at.value else None
    if found is None or found.value is None:
        return counter.refuse(at.findings if found is None else found.findings)
    if counter.as_json:
        counter.screen().json([show.pins(one) for one in found.value])
        return Exit.DONE
    for one in found.value:
        title = f"{one.mark}, now" if one.mark else f"{one.door}, as approved"
        counter.screen().heading(f"{title}: revision {one.revision}")
        show.stacks(counter.screen(), one.stacks)
    return Exit.DONE


@click.command()
@click.argument("system")
@click.argument("key", required=False, default="")
@rest_option
@click.option("--all", "every", is_flag=True, help="Also combinations that are in use.")
@pass_counter
def resting(counter: Counter, system: str, key: str, rest: int, every: bool) -> int:
    """When returned combinations of SYSTEM, or of KEY, are free again, and whose doors are clean.

    A combination is offered again when every copy is back or destroyed, and the rest is over.
    """
    from functools import partial

    answer = partial(show_resting, every=every or bool(key))
    return counter.ask("resting", answer, system=system, key=key, rest=rest)


COMMANDS = (
    bring,
    approve,
    system,
    order,
    cut,
    cuts,
    pin,
    pins,
    place,
    spares,
    inventory,
    resting,
)
