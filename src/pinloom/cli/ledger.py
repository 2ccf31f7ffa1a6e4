"""``pinloom ledger``: who holds which key, what is pinned in which door, and since when."""

import click

from pinloom.cli import ledger_bench, ledger_desk, ledger_keep, ledger_people
from pinloom.cli.ledger_kit import Counter


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--ledger",
    "place",
    default="",
    metavar="PLACE",
    help="File, or URL of a PostgreSQL database; else PINLOOM_LEDGER, else a file of your own.",
)
@click.option("--clerk", default="", metavar="NAME", help="Who records; else PINLOOM_CLERK.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, without cuts.")
@click.option(
    "--as-written", is_flag=True, help="A reason that reads like cuts is none; keep it as it is."
)
@click.pass_context
def command(
    context: click.Context, place: str, clerk: str, as_json: bool, as_written: bool
) -> None:
    """Keep the keys of a building: cut, issued, returned, lost.

    What is recorded is never changed or removed. Cuts and pins are sealed under a passphrase;
    everything at the counter works without it.
    """
    context.obj = Counter(place=place, clerk=clerk, as_json=as_json, as_written=as_written)


for _module in (ledger_keep, ledger_people, ledger_bench, ledger_desk):
    for _command in _module.COMMANDS:
        command.add_command(_command)
