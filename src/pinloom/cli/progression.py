"""``pinloom progression``: the array and the list of a standard progression."""

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import hardware_option
from pinloom.cli.screen import Screen, said
from pinloom.cli.secret import read_secret
from pinloom.core.findings import Finding, has_fault


@click.command()
@click.argument("master", metavar="CUTS")
@hardware_option
@click.option(
    "--constant",
    "constants",
    type=click.IntRange(min=1),
    multiple=True,
    metavar="N",
    help="Chamber that keeps the master's cut; repeated.",
)
@click.option(
    "--rotate",
    type=click.IntRange(min=0),
    default=0,
    metavar="N",
    help="So many chambers keep the master's cut in turn.",
)
@click.option(
    "--order",
    type=click.IntRange(min=1),
    multiple=True,
    metavar="N",
    help="Chambers as they move, the fastest first; repeated. The last one, if not given.",
)
@click.option(
    "--row", "rows", multiple=True, metavar="CUTS", help="Row of a house's own array; repeated."
)
@click.option(
    "--list", "most", type=click.IntRange(min=0), default=0, metavar="N", help="List N change keys."
)
@click.option(
    "--from",
    "start",
    type=click.IntRange(min=1),
    default=1,
    metavar="N",
    help="Number of the first key listed.",
)
@click.option("--json", "as_json", is_flag=True, help="Print JSON, array and list included.")
def command(
    master: str,
    hardware: str,
    constants: tuple[int, ...],
    rotate: int,
    order: tuple[int, ...],
    rows: tuple[str, ...],
    most: int,
    start: int,
    as_json: bool,
) -> int:
    """Progress change keys from a top master by a standard method, without a chart.

    CUTS is the top master, better @FILE or - than the cuts themselves. What is shown is
    confidential.
    """
    from pinloom.workflow.progression import ProgressionOrder, progress

    screen = Screen(silent=as_json)
    cuts, remarks = read_secret(master, "top master")
    table, more = _rows(rows)
    findings = (*remarks, *more)
    if has_fault(findings):
        return screen.refuse(findings)
    result = progress(
        ProgressionOrder(
            master=cuts,
            hardware=hardware,
            constants=constants,
            rotating=rotate,
            order=order,
            rows=table,
            first=start - 1,
            most=most,
        )
    )
    findings = (*findings, *result.findings)
    made, plan, listed = result.made, result.plan, result.listed
    if made is None or plan is None or listed is None:
        return screen.refuse(findings)
    stamped = [[made.depths[level].stamped for level in column] for column in plan.columns]
    keys = [made.stamp(key) for key in listed.keys]
    if as_json:
        screen.json(
            {
                "exit": int(Exit.DONE),
                "method": plan.method.value,
                "array": stamped,
                "keys": listed.count,
                "keep_macs": listed.usable,
                "list": keys,
                "findings": [said(one) for one in findings],
            }
        )
        return Exit.DONE
    screen.heading(f"{plan.method.value[0].upper()}{plan.method.value[1:]} (confidential)")
    screen.table(
        ("chamber", "master", "beside it, in order"),
        [
            (str(p + 1), made.depths[cut].stamped, " ".join(stamped[p]) or "constant")
            for p, cut in enumerate(plan.master)
        ],
        right=("chamber", "master"),
    )
    screen.facts(
        [
            ("fastest first", "chambers " + " ".join(str(p + 1) for p in plan.order)),
            ("at a time", f"{plan.rotating} of them keep the master's cut" if rotate else "all"),
            ("change keys", f"{listed.count:,}"),
            ("keep MACS", f"{listed.usable:,} (MACS {made.macs})"),
        ]
    )
    if keys:
        screen.heading(f"Change keys {start:,} to {start + len(keys) - 1:,} that keep MACS")
        screen.say("  ".join(keys))
    elif most:
        screen.say(f"No change key that keeps MACS stands at {start:,} or behind it.")
    screen.findings(findings)
    return Exit.DONE


def _rows(rows: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """Rows as given, or the lines of a file."""
    lines: list[str] = []
    found: list[Finding] = []
    for row in rows:
        text, remarks = read_secret(row, "row of the array")
        lines += [line for line in text.splitlines() if line.strip()]
        found += remarks
    return tuple(lines), tuple(found)
