"""``pinloom lost``: what a lost key exposes, and plans."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY, passphrase_option, screen_options, secrets
from pinloom.cli.roomtold import still_kept
from pinloom.core.findings import has_fault

if TYPE_CHECKING:
    from pinloom.cli.screen import Screen
    from pinloom.workflow.lost import LostResult, ProvedPlan

MOST = 30  # names in a list without --full
COUNT = click.IntRange(min=0)


@click.command()
@click.argument("key")
@click.argument("folder", type=ANY, metavar="DIR")
@click.option(
    "--first", multiple=True, metavar="DOOR", help="Door to do before all others; repeated."
)
@click.option("--minutes-cylinder", type=COUNT, metavar="N", help="To re-pin one cylinder.")
@click.option("--minutes-core", type=COUNT, metavar="N", help="To swap in one pinned spare core.")
@click.option("--minutes-key", type=COUNT, metavar="N", help="To cut and hand out one key.")
@click.option("--minutes-trip", type=COUNT, metavar="N", help="For the way of one trip.")
@click.option(
    "--per-trip", type=click.IntRange(min=1), metavar="N", help="Cylinders done in one trip."
)
@click.option("--out", type=ANY, metavar="DIR", help="Write the end state of a plan as a job.")
@click.option(
    "--plan", "number", type=click.IntRange(min=1), default=1, help="Which plan --out writes."
)
@passphrase_option
@screen_options
def command(
    key: str,
    folder: Path,
    first: tuple[str, ...],
    minutes_cylinder: int | None,
    minutes_core: int | None,
    minutes_key: int | None,
    minutes_trip: int | None,
    per_trip: int | None,
    out: Path | None,
    number: int,
    passphrase: str | None,
    quiet: bool,
    as_json: bool,
    full: bool,
) -> int:
    """Show what a lost key exposes, and plans to shut it out.

    KEY is a key of the job in DIR. Every state on the way is proved: who works with which copy,
    and that the lost key opens no finished door. Minutes are the shop's own.
    """
    from pinloom.cli.progress import Progress
    from pinloom.cli.screen import Screen
    from pinloom.workflow.lost import LostOrder, Prices, lost_key

    screen = Screen(quiet=quiet, silent=as_json)
    given = secrets(passphrase)
    if has_fault(given.findings):
        return screen.refuse(given.findings)
    figures = {
        "cylinder": minutes_cylinder,
        "core": minutes_core,
        "key": minutes_key,
        "trip": minutes_trip,
        "per_trip": per_trip,
    }
    prices = Prices(**{name: value for name, value in figures.items() if value is not None})
    order = LostOrder(
        key=key,
        folder=folder,
        prices=prices,
        first=first,
        out=out,
        number=number,
        passphrase=given.passphrase,
    )
    with Progress(quiet=quiet or as_json) as progress:
        result = lost_key(order, progress)
    findings = (*given.findings, *result.findings)
    if result.answer is None or has_fault(findings):
        return screen.refuse(findings)
    code = _code(result)
    if as_json:
        screen.json(_figures(result) | {"exit": int(code)})
        return code
    _exposure(screen, result, full=full)
    for position, one in enumerate(result.plans, start=1):
        _plan(screen, position, one, full=full)
    _rest(screen, result)
    if result.saved is not None:
        screen.always(f"Plan {number} written to {out}: {', '.join(result.saved.files)}.")
    return code


def _code(result: "LostResult") -> Exit:
    if any(one.proved for one in result.plans):
        return Exit.DONE
    if result.plans:
        return Exit.FAULTS
    return Exit.GAVE_UP if result.answer is None or result.answer.open else Exit.IMPOSSIBLE


def _exposure(screen: "Screen", result: "LostResult", *, full: bool) -> None:
    if result.answer is None:
        return
    exposure = result.answer.exposure
    screen.heading(f"Lost: {exposure.key}")
    if not exposure.doors and not exposure.beyond:
        screen.say("It opens no door: nothing to re-pin.")
        return
    screen.say(f"Until they are re-pinned it opens {len(exposure.doors):,} doors:")
    shown = exposure.others if full else exposure.others[:MOST]
    screen.table(
        ("door", "other keys that open it"),
        [(door, ", ".join(keys) or "none") for door, keys in shown],
    )
    if len(shown) < len(exposure.others):
        screen.say(f"... and {len(exposure.others) - len(shown):,} more (--full shows all).")
    if exposure.beyond:
        screen.say(f"By accident of the pins also: {_names(exposure.beyond, full=full)}.")
    if exposure.pins_alone:
        screen.say("New pins and a new cut for this key are enough.")
    else:
        screen.say(
            "New pins are not enough: its cuts are made of those of the keys that stay, so some "
            "of these must be re-cut as well."
        )


def _plan(screen: "Screen", number: int, one: "ProvedPlan", *, full: bool) -> None:
    plan = one.plan
    screen.heading(f"Plan {number}: re-cut {plan.name}")
    spares = [("with spare cores", f"{plan.spares:,} minutes")] if plan.spares else []
    screen.facts(
        [
            ("minutes", f"{plan.minutes:,}; no plan can take less than {plan.least:,}"),
            *spares,
            ("keys to cut", f"{_pieces(one)}: {_names(plan.recut, full=full)}"),
            ("doors to re-pin", f"{len(plan.repin):,}"),
            ("proof", "every state proved" if one.proved else "NOT PROVED"),
            *(("room kept", text) for text in still_kept(one.job)),
        ]
    )
    for position, (stage, state) in enumerate(zip(plan.stages, one.states, strict=True), start=1):
        screen.say(f"Trip {position}: re-pin {_names(stage.doors, full=full)}.")
        if stage.hand_out:
            screen.say(f"before it, hand out new: {_names(stage.hand_out, full=full)}.", indent=2)
        if stage.take_back:
            screen.say(f"after it, take back old: {_names(stage.take_back, full=full)}.", indent=2)
        if state.meanwhile:
            pairs = tuple(f"{key} in {door}" for key, door in state.meanwhile)
            screen.say(
                f"until those doors are done, these also open: {_names(pairs, full=full)}.",
                indent=2,
            )
        for fault in state.broken[:MOST]:
            screen.say(f"NOT PROVED: {fault.key} at {fault.door}: {fault.kind.value}.", indent=2)


def _pieces(one: "ProvedPlan") -> str:
    """How many keys are cut anew, and how many pieces that are; the minutes count pieces."""
    anew = set(one.plan.recut)
    pieces = sum(key.copies or 1 for key in one.plan.chart.keys if key.name in anew)
    return f"{len(anew):,}" if pieces == len(anew) else f"{len(anew):,} in {pieces:,} copies"


def _rest(screen: "Screen", result: "LostResult") -> None:
    if result.answer is None:
        return
    for title in result.answer.excluded:
        screen.say(f"Impossible, by proof: re-cutting {title}.")
    for title in result.answer.open:
        screen.say(f"None found, and none excluded: re-cutting {title}.")
    screen.points(
        [
            "Written authority first; tell who works behind these doors before each trip.",
            "Egress and fire doors stay free from inside at every hour of the change.",
            "Update fire-service key boxes before their doors are re-pinned.",
            "Try every cylinder by hand before you leave it.",
        ]
    )
    good = any(one.proved for one in result.plans)
    plans = "1 plan" if len(result.plans) == 1 else f"{len(result.plans)} plans"
    screen.verdict(f"\n{plans}" if good else "\nNo proved plan", good=good)


def _figures(result: "LostResult") -> dict[str, object]:
    if result.answer is None:
        return {}
    exposure = result.answer.exposure
    return {
        "key": exposure.key,
        "doors": list(exposure.doors),
        "beyond": list(exposure.beyond),
        "pins_alone": exposure.pins_alone,
        "plans": [
            {
                "name": one.plan.name,
                "minutes": one.plan.minutes,
                "least": one.plan.least,
                "spares": one.plan.spares,
                "recut": list(one.plan.recut),
                "repin": list(one.plan.repin),
                "proved": one.proved,
                "kept": {kept.under: len(kept.cuts) for kept in one.job.kept},
                "stages": [
                    {
                        "doors": list(stage.doors),
                        "hand_out": list(stage.hand_out),
                        "take_back": list(stage.take_back),
                        "meanwhile": [list(pair) for pair in state.meanwhile],
                    }
                    for stage, state in zip(one.plan.stages, one.states, strict=True)
                ],
            }
            for one in result.plans
        ],
        "excluded": list(result.answer.excluded),
        "open": list(result.answer.open),
    }


def _names(names: tuple[str, ...], *, full: bool) -> str:
    if full or len(names) <= MOST:
        return ", ".join(names)
    return f"{', '.join(names[:MOST])} and {len(names) - MOST:,} more"
