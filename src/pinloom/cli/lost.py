"""``pinloom lost``: what a lost key exposes, and plans."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.cli.rest import books_of, books_options
from pinloom.core.findings import has_fault

if TYPE_CHECKING:
    from pinloom.workflow.lost import LostResult

COUNT = click.IntRange(min=0)
SOME = click.IntRange(min=1)
PAPERS = {"a4": "A4", "letter": "LETTER"}


@click.command()
@click.argument("key")
@click.argument("folder", type=ANY, metavar="DIR")
@click.option(
    "--first", multiple=True, metavar="DOOR", help="Door to do before all others; repeated."
)
@click.option("--minutes-cylinder", type=COUNT, metavar="N", help="To re-pin one cylinder.")
@click.option("--minutes-core", type=COUNT, metavar="N", help="To swap in one pinned spare core.")
@click.option(
    "--minutes-bench", type=COUNT, metavar="N", help="To pin one spare core at the bench."
)
@click.option("--minutes-key", type=COUNT, metavar="N", help="To cut and stamp one key.")
@click.option(
    "--minutes-issue", type=COUNT, metavar="N", help="To call one key back and hand out the new."
)
@click.option("--minutes-trip", type=COUNT, metavar="N", help="For the way of one trip.")
@click.option("--per-trip", type=SOME, metavar="N", help="Cylinders done in one trip.")
@click.option("--cores-per-trip", type=SOME, metavar="N", help="Cores swapped in one trip.")
@click.option("--spares", type=SOME, metavar="N", help="Spare cores at hand; else enough.")
@click.option("--days-between", type=COUNT, metavar="N", help="Days from one trip to the next.")
@click.option("--out", type=ANY, metavar="DIR", help="Write the end state of a plan as a job.")
@click.option(
    "--plan",
    "number",
    type=SOME,
    default=1,
    metavar="N",
    help="Which plan --out and --orders write.",
)
@click.option(
    "--orders", type=ANY, metavar="OUT", help="Write the work orders of a plan to this folder."
)
@click.option("--swap", is_flag=True, help="Work orders with cores swapped for pinned spares.")
@click.option(
    "--approved-by",
    metavar="TEXT",
    help="Who approved the plan, and on what authority; else NOT APPROVED on the bench's order.",
)
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", help="Size of paper.")
@passphrase_option
@books_options
@screen_options
def command(
    key: str,
    folder: Path,
    first: tuple[str, ...],
    minutes_cylinder: int | None,
    minutes_core: int | None,
    minutes_bench: int | None,
    minutes_key: int | None,
    minutes_issue: int | None,
    minutes_trip: int | None,
    per_trip: int | None,
    cores_per_trip: int | None,
    spares: int | None,
    days_between: int | None,
    out: Path | None,
    number: int,
    orders: Path | None,
    swap: bool,
    approved_by: str | None,
    paper: str,
    passphrase: str | None,
    ledger: str | None,
    system: str,
    rest: int,
    ledger_passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Show what a lost key exposes, and plans to shut it out.

    KEY is a key of the job in DIR. Every state on the way is proved: who works with which copy,
    and that the lost key opens no finished door. Minutes are the shop's own.
    """
    from pinloom.cli.lost_report import figures_of, report
    from pinloom.cli.progress import Progress
    from pinloom.cli.screen import Screen
    from pinloom.cli.screen import said as told
    from pinloom.workflow.lost import LostOrder, Paper, Prices, lost_key

    screen = Screen(quiet=quiet, silent=as_json)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    books, said = books_of(ledger, system, rest, ledger_passphrase)
    if has_fault(said):
        return screen.refuse((*given.findings, *said))
    figures = {
        "cylinder": minutes_cylinder,
        "core": minutes_core,
        "bench": minutes_bench,
        "key": minutes_key,
        "issue": minutes_issue,
        "trip": minutes_trip,
        "per_trip": per_trip,
        "cores_per_trip": cores_per_trip,
        "spares": spares,
        "days": days_between,
    }
    prices = Prices(**{name: value for name, value in figures.items() if value is not None})
    order = LostOrder(
        key=key,
        folder=folder,
        prices=prices,
        first=first,
        out=out,
        number=number,
        orders=orders,
        swap=swap,
        approved_by=approved_by,
        paper=Paper[PAPERS[paper]],
        passphrase=given.passphrase,
        books=books,
    )
    with Progress(quiet=quiet or as_json) as progress:
        result = lost_key(order, progress)
    findings = (*given.findings, *said, *result.findings)
    if result.answer is None or has_fault(findings):
        return screen.refuse(findings)
    code = _code(result)
    if as_json:
        findings_told = [told(one) for one in findings]
        screen.json(figures_of(result) | {"exit": int(code), "findings": findings_told})
        return code
    screen.findings(findings)
    report(screen, result, prices, full=full)
    if result.saved is not None:
        screen.always(f"Plan {number} written to {out}: {', '.join(result.saved.files)}.")
    if result.written:
        screen.always(f"Work orders written to {orders}: {', '.join(result.written)}.")
    return code


def _code(result: "LostResult") -> Exit:
    if any(one.proved for one in result.plans):
        return Exit.DONE
    if result.plans:
        return Exit.FAULTS
    return Exit.GAVE_UP if result.answer is None or result.answer.open else Exit.IMPOSSIBLE
