"""Over the counter: issue, return, lost, found, and the questions people ask there."""

import click

from pinloom.cli import ledger_show as show
from pinloom.cli.ledger_kit import Counter, pass_counter, why_option


@click.command()
@click.argument("key")
@click.argument("person")
@click.option("--due", default="", metavar="DATE", help="To be back by this day.")
@click.option("--issuer-signature", default="", metavar="TEXT", help="Where it is kept.")
@click.option("--receiver-signature", default="", metavar="TEXT", help="Where it is kept.")
@why_option()
@pass_counter
def issue(
    counter: Counter,
    key: str,
    person: str,
    due: str,
    issuer_signature: str,
    receiver_signature: str,
    why: str,
) -> int:
    """Hand the copy with the stamp KEY to PERSON, and print the receipt."""
    return counter.record(
        "issue",
        show=True,
        key=key,
        person=person,
        due=due,
        issuer_signature=issuer_signature,
        receiver_signature=receiver_signature,
        why=why,
    )


@click.command(name="return")
@click.argument("key")
@click.option("--signature", default="", metavar="TEXT", help="Where it is kept.")
@why_option()
@pass_counter
def take_back(counter: Counter, key: str, signature: str, why: str) -> int:
    """The copy with the stamp KEY is back; print the receipt."""
    return counter.record("take_back", show=True, key=key, signature=signature, why=why)


@click.command()
@click.option("--late", is_flag=True, help="Only those that are overdue.")
@pass_counter
def out(counter: Counter, late: bool) -> int:
    """List the keys that are out."""
    return counter.ask("out", show.held, late_only=late)


@click.command()
@pass_counter
def overdue(counter: Counter) -> int:
    """Record every key that is overdue, once an issue; pinloom ledger out --late lists them."""
    return counter.record("note_overdue")


@click.command()
@click.argument("key")
@why_option(needed=True)
@pass_counter
def lost(counter: Counter, key: str, why: str) -> int:
    """The copy with the stamp KEY is lost; its combination is not handed out any more."""
    return counter.record("lose", key=key, why=why)


@click.command()
@click.argument("key")
@click.option("--trusted", is_flag=True, help="Nobody can have copied it meanwhile.")
@why_option(needed=True)
@pass_counter
def found(counter: Counter, key: str, trusted: bool, why: str) -> int:
    """The lost copy with the stamp KEY is back in the cabinet."""
    return counter.record("find", key=key, trusted=trusted, why=why)


@click.command()
@click.argument("system")
@click.argument("key")
@why_option(needed=True)
@pass_counter
def trust(counter: Counter, system: str, key: str, why: str) -> int:
    """Answer for the lost combination of the key symbol KEY of SYSTEM: it is handed out again."""
    return counter.record("trust", system=system, key=key, why=why)


@click.command()
@click.argument("key")
@click.option("--witness", default="", metavar="NAME", help="Who saw it.")
@why_option(needed=True)
@pass_counter
def destroy(counter: Counter, key: str, witness: str, why: str) -> int:
    """The copy with the stamp KEY was made useless for good."""
    return counter.record("destroy", key=key, witness=witness, why=why)


@click.command()
@click.argument("receipt")
@click.option("--issuer", default="", metavar="TEXT", help="Where the signature is kept.")
@click.option("--receiver", default="", metavar="TEXT", help="Where the signature is kept.")
@pass_counter
def sign(counter: Counter, receipt: str, issuer: str, receiver: str) -> int:
    """Note where the signatures on RECEIPT are kept."""
    return counter.record(
        "sign", receipt=receipt, issuer_signature=issuer, receiver_signature=receiver
    )


@click.command()
@click.argument("receipt")
@click.argument("field")
@click.argument("value", required=False, default="")
@why_option(needed=True)
@pass_counter
def correct(counter: Counter, receipt: str, field: str, value: str, why: str) -> int:
    """The issue of RECEIPT was recorded wrongly: FIELD (due, receiver) is VALUE, or void."""
    return counter.record("correct", receipt=receipt, field=field, value=value, why=why)


@click.command()
@click.argument("number")
@pass_counter
def receipt(counter: Counter, number: str) -> int:
    """Print the receipt NUMBER again."""
    return counter.ask("receipt", show.receipt, number=number)


@click.command()
@click.argument("person")
@pass_counter
def holds(counter: Counter, person: str) -> int:
    """Which keys PERSON holds."""
    return counter.ask("holds", show.held, person=person)


@click.command()
@click.argument("system")
@click.argument("door")
@pass_counter
def openers(counter: Counter, system: str, door: str) -> int:
    """Who can open DOOR of SYSTEM, and through which key."""
    return counter.ask("who_can_open", show.openers, system=system, door=door)


@click.command()
@click.argument("person")
@pass_counter
def reach(counter: Counter, person: str) -> int:
    """Which doors PERSON can open with the keys held."""
    return counter.ask("what_opens", show.openers, person=person)


@click.command()
@click.argument("text")
@pass_counter
def find(counter: Counter, text: str) -> int:
    """Find sites, people, systems, keys, copies, doors, cylinders and blanks by TEXT."""
    return counter.ask("search", show.found_things, text=text)


@click.command()
@click.argument("what", required=False, default="")
@click.option("--system", default="", metavar="NAME", help="WHAT is a door, key or cylinder of it.")
@pass_counter
def history(counter: Counter, what: str, system: str) -> int:
    """What happened to WHAT: a stamp or a person; or, with --system, a door, key or cylinder."""
    return counter.ask("history_of", show.events, what=what, system=system)


@click.command()
@click.argument("what")
@pass_counter
def register(counter: Counter, what: str) -> int:
    """Show the register's lines of WHAT: a stamp or a person."""
    return counter.ask("register_of", show.register, what=what)


COMMANDS = (
    issue,
    take_back,
    out,
    overdue,
    lost,
    found,
    trust,
    destroy,
    sign,
    correct,
    receipt,
    holds,
    openers,
    reach,
    find,
    history,
    register,
)
