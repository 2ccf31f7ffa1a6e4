"""``pinloom draft``: a first schedule from the building's own records."""

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import FILE
from pinloom.cli.screen import Screen, said

if TYPE_CHECKING:
    from pinloom.core.findings import Finding
    from pinloom.workflow.draft import DraftSchedule


@click.command()
@click.argument("building", type=click.Path(path_type=Path))
@click.option(
    "--out", required=True, type=FILE, metavar="CHART.xlsx", help="Workbook to write and edit."
)
@click.option(
    "--by",
    type=click.Choice(["zone", "floor", "both"]),
    default="zone",
    show_default=True,
    help="What the masters stand for: departments, floors, or both.",
)
@click.option("--no-service-keys", is_flag=True, help="Propose no keys for cleaning, plant, ...")
@click.option("--replace", is_flag=True, help="Write over a file that is there.")
@click.option("--quiet", is_flag=True, help="Print the verdict only.")
@click.option("--json", "as_json", is_flag=True, help="Print figures and findings as JSON.")
def command(
    building: Path,
    out: Path,
    by: str,
    no_service_keys: bool,
    replace: bool,
    quiet: bool,
    as_json: bool,
) -> int:
    """Draft a first keying schedule from a building's handover records.

    BUILDING is a COBie workbook (.xlsx) or an IFC model (.ifc, with the extra ifc).
    """
    from pinloom.workflow.draft import Grouping, draft

    screen = Screen(quiet=quiet, silent=as_json)
    result = draft(building, out, Grouping(by), services=not no_service_keys, replace=replace)
    if as_json:
        screen.json(_figures(result.schedule, result.findings))
    if result.schedule is None:
        return screen.refuse(result.findings)
    screen.findings(result.findings)
    _show(screen, result.schedule)
    screen.verdict(f"Drafted, not designed: look through {out} with the customer.", good=True)
    screen.say(f"Then: pinloom design {out} --hardware FORMAT --out DIR")
    return Exit.DONE


def _show(screen: Screen, schedule: "DraftSchedule") -> None:
    screen.heading(f"Draft for {schedule.building}")
    exits = sum(one.judged.egress is not None for one in schedule.doors)
    exits += sum(one.egress is not None for one in schedule.apart)
    screen.facts(
        [
            ("doors", f"{len(schedule.doors) + len(schedule.apart)}"),
            ("with a cylinder", f"{len(schedule.doors)}"),
            ("without", f"{len(schedule.apart)}, listed apart with the reason"),
            ("on a way out", f"{exits}, marked with the caution"),
            ("keys", f"{len(schedule.keys)}, masters by {schedule.grouping.value}"),
            ("open questions", f"{len(schedule.questions)}, in a sheet of their own"),
        ]
    )
    opened = Counter(line.service.value for line in schedule.services if line.opens)
    left = Counter(line.service.value for line in schedule.services if not line.opens)
    if opened:
        screen.heading("Service keys proposed")
        screen.table(
            ("key", "doors", "left out for a reason"),
            [(name, str(count), str(left[name])) for name, count in opened.items()],
            right=("doors", "left out for a reason"),
        )
    screen.say("")
    screen.say(
        "Egress doors open from the inside without a key, whatever the draft says. Local codes, "
        "the authority having jurisdiction and licensed practice decide."
    )


def _figures(schedule: "DraftSchedule | None", findings: "tuple[Finding, ...]") -> dict[str, Any]:
    told: dict[str, Any] = {"findings": [said(one) for one in findings]}
    if schedule is not None:
        told |= {
            "building": schedule.building,
            "by": schedule.grouping.value,
            "doors": len(schedule.doors),
            "without_cylinder": len(schedule.apart),
            "keys": len(schedule.keys),
            "questions": len(schedule.questions),
        }
    return told
