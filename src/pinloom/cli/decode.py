"""``pinloom decode``: pins found in a cylinder, compared with the record."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.cli.screen import Screen, said
from pinloom.cli.secret import read_secret
from pinloom.core.findings import has_fault

MOST_KEYS = 40  # shown without --full


@click.command()
@click.argument("folder", type=ANY, metavar="DIR")
@click.argument("door", required=False, default="")
@click.option(
    "--pins", metavar="TEXT", help="One word a chamber, as 3+2, - or ?; better @FILE or -."
)
@click.option(
    "--measured",
    type=click.Choice(("inch", "mm")),
    help="Pins are given as lengths, bottom-up with the driver, as 0.18+0.03+0.16.",
)
@click.option("--pinning", type=ANY, metavar="FILE", help="Table of the pins of one or more doors.")
@click.option("--show-cuts", is_flag=True, help="Show the pins that differ, on record and found.")
@passphrase_option
@screen_options
def command(
    folder: Path,
    door: str,
    pins: str | None,
    measured: str | None,
    pinning: Path | None,
    show_cuts: bool,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Compare pins found in a cylinder with the record, and say what they are.

    DIR holds the job. With DOOR the pins are held against that door, without it the doors are
    named that have such pins. Chambers that nobody read are given as ?.
    """
    from pinloom.cli.report import Report
    from pinloom.workflow.decode import DecodeOrder, decode_pins

    if (pins is None) == (pinning is None):
        raise click.UsageError("give --pins or --pinning")
    report = Report(quiet=quiet, as_json=as_json, full=full)
    text, remarks = (None, ()) if pins is None else read_secret(pins, "list of pins")
    given = secrets(passphrase)
    early = (*remarks, *given.findings)
    if has_fault(early):
        return report.refuse(early)
    result = decode_pins(
        DecodeOrder(
            folder=folder,
            door=door,
            text=text,
            unit=measured or "",
            table=pinning,
            passphrase=given.passphrase,
        )
    )
    findings = (*early, *result.findings)
    if result.job is None:
        return report.refuse(findings)
    code = Exit.DONE if result.same and not has_fault(findings) else Exit.FAULTS
    screen = Screen(quiet=quiet, silent=as_json)
    if as_json:
        told = [_figures(one) for one in result.cylinders]
        screen.json(
            {"exit": int(code), "cylinders": told, "findings": [said(one) for one in findings]}
        )
        return code
    for one in result.cylinders:
        _show(screen, one, show_cuts=show_cuts, most=None if full else MOST_KEYS)
    if findings:
        screen.heading("To look at")
        screen.findings(findings)
    screen.verdict(f"\n{_verdict(result.cylinders)}", good=code is Exit.DONE)
    return code


def _verdict(cylinders: Sequence[Any]) -> str:
    same = sum(one.same for one in cylinders)
    faulty = sum(one.faulty for one in cylinders)
    wrong = f" {faulty} open for a key too many, or not for one that shall open." if faulty else ""
    if len(cylinders) == 1:
        wrong = " A key too many opens it, or one too few." if faulty else ""
        if same and cylinders[0].unknown:
            return f"AS ON RECORD, as far as it is known.{wrong}"
        return ("AS ON RECORD." if same else "NOT AS ON RECORD.") + wrong
    return f"{same} of {len(cylinders)} cylinders are AS ON RECORD.{wrong}"


def _show(screen: Screen, one: Any, *, show_cuts: bool, most: int | None) -> None:
    screen.heading(f"Found in {one.door}" if one.door else f"Found: {one.name or 'a cylinder'}")
    if one.door:
        screen.say(_against_record(one))
        if show_cuts and one.differences:
            rows = [(str(d.chamber), d.record, d.found) for d in one.differences]
            screen.table(("chamber", "on record", "found"), rows)
    if one.unknown:
        screen.say(
            f"Not known: {_chambers(one.unknown)}. Keys that are listed may be kept out there."
        )
    _doors(screen, one)
    _keys(screen, one, most)
    if one.combinations is not None:
        screen.say(f"Exact combinations: {one.combinations:,}.")


def _against_record(one: Any) -> str:
    if not one.differences:
        return "As on record" + (", as far as it is known." if one.unknown else ".")
    pins = [d.chamber for d in one.differences if not d.driver]
    drivers = [d.chamber for d in one.differences if d.driver]
    parts = [f"other pins in {_chambers(pins)}"] * bool(pins)
    parts += [f"another driver in {_chambers(drivers)}"] * bool(drivers)
    return f"Not as on record: {'; '.join(parts)}."


def _chambers(numbers: Sequence[int]) -> str:
    return f"chamber{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"


def _doors(screen: Screen, one: Any) -> None:
    same = [near.name for near in one.doors if not near.chambers]
    if same:
        screen.say(f"Doors on record with these pins: {', '.join(same)}.")
    elif not one.doors:
        screen.say("No door on record shares a chamber with these pins.")
    else:
        screen.say("No door on record has these pins. The nearest:")
        rows = [
            (near.name, str(len(near.chambers)), ", ".join(map(str, near.chambers)))
            for near in one.doors
        ]
        screen.table(("door", "chambers that differ", "which"), rows)


def _keys(screen: Screen, one: Any, most: int | None) -> None:
    exact = [key for key in one.openers if key.exact]
    rows = [
        (key.key, "exactly" if key.exact else "not surely: within the least step", _shall(key))
        for key in one.openers
    ]
    rows += [(key.key, "turns the control sleeve", _shall(key)) for key in one.controls]
    opening = {key.key for key in one.openers if not key.exact}
    rows += [(name, "does not open", "shall open") for name in one.blocked if name not in opening]
    if rows:
        screen.table(("key", "opens", "the chart"), rows[:most])
        if most is not None and len(rows) > most:
            screen.say(f"... and {len(rows) - most} more (--full shows all).")
    else:
        screen.say("No key of the job opens it.")
    if not one.same or not one.door:
        named = ", ".join(key.key for key in exact) or "no key of the job"
        screen.say(f"By its lines it would be taken for a cylinder of: {named}.")
        left = "; ".join(f"{count} in chamber {chamber}" for chamber, count in one.left_over)
        if left and exact:
            screen.say(f"Lines that none of these keys uses: {left}.")
    if one.nearly and not exact:
        near = ", ".join(f"{key.name} (chamber {key.chambers[0]})" for key in one.nearly[:most])
        screen.say(f"Kept out by one chamber alone: {near}.")


def _shall(key: Any) -> str:
    if key.shall is None:
        return ""
    return "shall open" if key.shall else "shall not"


def _figures(one: Any) -> dict[str, Any]:
    """Without any cut or pin."""
    return {
        "name": one.name,
        "door": one.door or None,
        "same": one.same,
        "unknown": list(one.unknown),
        "differs": [d.chamber for d in one.differences if not d.driver],
        "other_drivers": [d.chamber for d in one.differences if d.driver],
        "opens": [{"key": k.key, "exact": k.exact, "shall": k.shall} for k in one.openers],
        "controls": [{"key": k.key, "exact": k.exact, "shall": k.shall} for k in one.controls],
        "blocked": list(one.blocked),
        "nearly": [{"key": n.name, "chamber": n.chambers[0]} for n in one.nearly],
        "doors": [{"door": n.name, "differs": list(n.chambers)} for n in one.doors],
        "left_over": [{"chamber": c, "lines": n} for c, n in one.left_over],
        "combinations": one.combinations,
    }
