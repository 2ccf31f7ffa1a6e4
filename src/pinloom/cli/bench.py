"""``pinloom bench``: cutting data, assembly order and pins of a proved job."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.core.findings import has_fault

if TYPE_CHECKING:
    from pinloom.cli.screen import Screen
    from pinloom.workflow.bench import BenchResult

MOST = 40  # rows of a list without --full


@click.command()
@click.argument("folder", type=ANY, metavar="DIR")
@click.option("--kit", type=ANY, metavar="FILE", help="Pins on hand, part,size,count.")
@click.option(
    "--tray",
    type=click.IntRange(min=1),
    default=12,
    show_default=True,
    metavar="N",
    help="Cylinders set up together.",
)
@click.option("--out", type=ANY, metavar="OUT", help="Write the tables as CSV into this folder.")
@passphrase_option
@screen_options
def command(
    folder: Path,
    kit: Path | None,
    tray: int,
    out: Path | None,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Lay out a proved job for the bench: cuts, trays of cylinders, pins and what is short.

    DIR holds the job. The output holds cuts: keep it as closed as the keys.
    """
    from pinloom.cli.screen import Screen
    from pinloom.workflow.bench import BenchOrder, bench

    screen = Screen(quiet=quiet, silent=as_json)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    order = BenchOrder(folder=folder, tray=tray, kit=kit, out=out, passphrase=given.passphrase)
    result = bench(order)
    findings = (*given.findings, *result.findings)
    if result.job is None or has_fault(findings):
        unproved = any(one.code == "bench-not-proved" for one in findings)
        return screen.refuse(findings, Exit.FAULTS if unproved else Exit.BAD_INPUT)
    if as_json:
        screen.json(_figures(result))
        return Exit.DONE
    _cutting(screen, result, full=full)
    _trays(screen, result, full=full)
    _short(screen, result)
    screen.heading("To look at")
    screen.findings(findings)
    cylinders = _many(sum(len(one.doors) for one in result.trays), "cylinder")
    screen.verdict(f"\n{cylinders} in {_many(len(result.trays), 'tray')}.", good=True)
    if result.files:
        screen.always(f"Written to {out}: {', '.join(result.files)}. Confidential.")
    return Exit.DONE


def _many(count: int, word: str) -> str:
    return f"{count:,} {word}" + ("" if count == 1 else "s")


def _cutting(screen: "Screen", result: "BenchResult", *, full: bool) -> None:
    from pinloom.core.lengths import in_inch, in_mm

    job = result.job
    if job is None:
        return
    made = job.key_format
    screen.heading(f"Cutting data, {made.reading.value}, from the {made.stop.value} (confidential)")
    places = made.positions()
    rows = [
        ("from stop, inch", *(in_inch(place) for place in places)),
        ("mm", *(in_mm(place) for place in places)),
    ]
    screen.table(("cut", *(str(n + 1) for n in range(made.chambers))), rows)
    rows = [(d.stamped, in_inch(d.root), in_mm(d.root)) for d in made.depths]
    screen.table(("depth", "root, inch", "mm"), rows, ("root, inch", "mm"))
    shown = result.cutting if full else result.cutting[:MOST]
    screen.table(
        ("key", "cuts", "copies", "blank", "cuts on the blank", "farthest, inch"),
        [
            (
                one.key,
                one.stamped,
                "" if one.copies is None else str(one.copies),
                one.blank,
                str(one.cuts_needed),
                in_inch(one.reach),
            )
            for one in shown
        ],
        ("copies", "cuts on the blank", "farthest, inch"),
    )
    _more(screen, len(result.cutting) - len(shown))


def _trays(screen: "Screen", result: "BenchResult", *, full: bool) -> None:
    from pinloom.messages.words import PARTS

    screen.heading("Trays, in assembly order")
    screen.say(
        f"From cylinder to cylinder {result.handled:,} sizes are taken up or put away; in the "
        f"chart's order it would be {result.unordered:,}."
    )
    shown = result.trays if full else result.trays[:MOST]
    for number, tray in enumerate(shown, start=1):
        screen.say(f"\nTray {number}: {', '.join(tray.doors)}")
        kinds: dict[str, list[str]] = {}
        for line in tray.parts:
            size = f"{line.part.size} x {line.count}" if line.part.size else str(line.count)
            kinds.setdefault(PARTS[line.part.kind], []).append(size)
        screen.facts([(f"  {kind}", ", ".join(sizes)) for kind, sizes in kinds.items()])
    _more(screen, len(result.trays) - len(shown))


def _short(screen: "Screen", result: "BenchResult") -> None:
    from pinloom.cli.onhand import lacking

    if result.short is not None:
        screen.heading("Pins on hand")
        lacking(screen, result.short)


def _more(screen: "Screen", left: int) -> None:
    if left:
        screen.say(f"... and {left:,} more (--full shows all).")


def _figures(result: "BenchResult") -> dict[str, Any]:
    """Without any cut."""
    return {
        "exit": int(Exit.DONE),
        "files": list(result.files),
        "trays": [list(tray.doors) for tray in result.trays],
        "parts": [
            {"part": line.part.kind.value, "size": line.part.size, "count": line.count}
            for line in result.parts
        ],
        "short": result.short
        and [
            {"part": one.part.kind.value, "size": one.part.size, "missing": one.missing}
            for one in result.short
        ],
        "handled": result.handled,
        "unordered": result.unordered,
    }
