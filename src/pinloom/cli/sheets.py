"""``pinloom sheets``: paper for a proved job."""

from decimal import Decimal, InvalidOperation
from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, secrets
from pinloom.cli.screen import Screen
from pinloom.core.findings import has_fault

PAPERS = {"a4": "A4", "letter": "LETTER"}


class Number(click.ParamType[Decimal]):
    """A number of minutes, not below nought."""

    name = "minutes"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Decimal:
        """The text as a decimal number."""
        try:
            number = Decimal(str(value))
        except InvalidOperation:
            self.fail(f"{value!r} is not a number of minutes", param, ctx)
        if not number.is_finite() or number < 0:
            self.fail(f"{value!r} is not a number of minutes", param, ctx)
        return number


@click.command()
@click.argument("folder", metavar="DIR", type=ANY)
@click.argument("names", metavar="[NAME]...", nargs=-1)
@click.option("--out", required=True, type=ANY, metavar="OUT", help="Folder to write to.")
@click.option(
    "--approved-by",
    metavar="TEXT",
    help="Who approved this revision, and on what authority; else NOT APPROVED on bench sheets.",
)
@click.option(
    "--since", type=ANY, metavar="DIR", help="Job folder of the revision to compare with."
)
@click.option(
    "--all-keys", is_flag=True, help="Of a grown job all keys and cylinders, not only the new ones."
)
@click.option("--paper", type=click.Choice(list(PAPERS)), default="a4", help="Size of paper.")
@click.option(
    "--key-control",
    type=click.Choice(["visual", "concealed"]),
    default="visual",
    help="Where keys are stamped.",
)
@click.option(
    "--spoilage",
    type=click.IntRange(0, 100),
    default=5,
    metavar="PERCENT",
    help="What to buy beyond what is needed; 5 if not given.",
)
@click.option("--minutes-cylinder", type=Number(), help="The shop's minutes a cylinder.")
@click.option("--minutes-core", type=Number(), help="The shop's minutes a core.")
@click.option("--minutes-key", type=Number(), help="The shop's minutes a key.")
@passphrase_option
@click.option("--quiet", is_flag=True, help="Print the verdict and the files only.")
def command(
    folder: Path,
    names: tuple[str, ...],
    out: Path,
    approved_by: str | None,
    since: Path | None,
    all_keys: bool,
    paper: str,
    key_control: str,
    spoilage: int,
    minutes_cylinder: Decimal | None,
    minutes_core: Decimal | None,
    minutes_key: Decimal | None,
    passphrase: str | None,
    quiet: bool,
) -> int:
    """Print a proved job: the owner's set, the bench's set, or single sheets by NAME.

    DIR is a job folder. Without NAME everything is written, the owner's set as owner.pdf and the
    bench's as bench.pdf.
    """
    from pinloom.workflow.sheets import KeyControl, Minutes, Paper, SheetsOrder, sheets

    screen = Screen(quiet=quiet)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    result = sheets(
        SheetsOrder(
            folder=folder,
            out=out,
            names=names,
            passphrase=given.passphrase,
            since=since,
            all_keys=all_keys,
            approved_by=approved_by,
            paper=Paper[PAPERS[paper]],
            key_control=KeyControl(key_control),
            spoilage=spoilage,
            minutes=Minutes(cylinder=minutes_cylinder, core=minutes_core, key=minutes_key),
        )
    )
    findings = (*given.findings, *result.findings)
    if result.job is None:
        return screen.refuse(findings, Exit.FAULTS if result.unproved else Exit.BAD_INPUT)
    screen.findings(findings)
    screen.say(
        "Confidential: the bench's sheets hold every cut. Hand out what a person needs, no more."
    )
    screen.verdict(f"Written to {out}: {', '.join(result.files)}.", good=True)
    return Exit.DONE
