"""Sites, people, signatories, blanks."""

import click

from pinloom.cli import ledger_show as show
from pinloom.cli.ledger_kit import Counter, pass_counter, why_option


@click.command()
@click.argument("name")
@click.option("--building", default="", metavar="NAME", help="Add this building to a site known.")
@pass_counter
def site(counter: Counter, name: str, building: str) -> int:
    """Add the site NAME, or with --building a building of it."""
    if building:
        return counter.record("add_building", site=name, name=building)
    return counter.record("add_site", name=name)


@click.command()
@click.argument("name")
@click.option("--organisation", default="", metavar="TEXT", help="Firm or department.")
@click.option("--contact", default="", metavar="TEXT", help="Where to reach the person.")
@click.option("--note", default="", metavar="TEXT", help="For people.")
@click.option("--namesake", is_flag=True, help="Another person of a name that is known.")
@pass_counter
def person(
    counter: Counter, name: str, organisation: str, contact: str, note: str, namesake: bool
) -> int:
    """Add the person NAME, who may hold keys."""
    return counter.record(
        "add_person",
        name=name,
        organisation=organisation,
        contact=contact,
        note_text=note,
        namesake=namesake,
    )


@click.command()
@click.argument("person")
@click.argument("field")
@click.argument("value")
@why_option(needed=True)
@pass_counter
def amend(counter: Counter, person: str, field: str, value: str, why: str) -> int:
    """Correct what is kept of PERSON: FIELD (name, organisation, contact, note) becomes VALUE."""
    return counter.record("change_person", person=person, field=field, value=value, why=why)


@click.command()
@click.argument("site")
@click.argument("person")
@click.option("--authority", default="", metavar="TEXT", help="The written authority.")
@click.option("--until", default="", metavar="DATE", help="Last day; none if not given.")
@click.option("--end", is_flag=True, help="The person may no longer sign.")
@why_option()
@pass_counter
def signatory(
    counter: Counter, site: str, person: str, authority: str, until: str, end: bool, why: str
) -> int:
    """PERSON may order restricted blanks for SITE, on written authority."""
    if end:
        return counter.record("end_signatory", site=site, person=person, why=why)
    return counter.record(
        "add_signatory", site=site, person=person, authority=authority, until=until
    )


@click.command()
@click.argument("name")
@click.option("--restricted/--free", default=False, help="Cut on a signatory's order only.")
@pass_counter
def blank(counter: Counter, name: str, restricted: bool) -> int:
    """Keep the blank NAME, or change what is said of it."""
    return counter.record("keep_blank", name=name, restricted=restricted)


@click.command()
@click.argument("name", required=False, default="")
@click.option("--received", type=int, metavar="N", help="So many came in.")
@click.option("--spoiled", type=int, metavar="N", help="So many were spoiled; needs --why.")
@click.option("--counted", type=int, metavar="N", help="So many are there.")
@why_option()
@pass_counter
def blanks(
    counter: Counter,
    name: str,
    received: int | None,
    spoiled: int | None,
    counted: int | None,
    why: str,
) -> int:
    """Show the stock of blanks, or record what happened to the blank NAME."""
    given = [
        (action, pieces)
        for action, pieces in (("receive", received), ("spoil", spoiled), ("count", counted))
        if pieces is not None
    ]
    if not given and not name:
        return counter.ask("blanks", show.blanks)
    if len(given) != 1 or not name:
        raise click.UsageError("give NAME and one of --received, --spoiled, --counted")
    action, pieces = given[0]
    return counter.record(action, blank=name, pieces=pieces, why=why)


COMMANDS = (site, person, amend, signatory, blank, blanks)
