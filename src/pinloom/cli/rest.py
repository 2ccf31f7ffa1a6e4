"""The rest of returned combinations: the option for its length, and how standings look."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from pinloom.cli.screen import Screen
from pinloom.cli.secret import read_secret
from pinloom.core.findings import Finding
from pinloom.core.reuse import MOST_REST, USUAL_REST, CopyPast, Offer, Whereabouts

if TYPE_CHECKING:  # the ledger's libraries, only where a ledger is given
    from pinloom.workflow.reuse import Books

MOST_DOORS = 6  # named in a line
HELD = {Whereabouts.OUT: "with", Whereabouts.LOST: "last with", Whereabouts.DISPUTED: "last with"}


def rest_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--rest DAYS``."""
    return click.option(
        "--rest",
        type=click.IntRange(0, MOST_REST),
        default=USUAL_REST,
        envvar="PINLOOM_REST",
        metavar="DAYS",
        help=f"How long a returned combination rests; else PINLOOM_REST, else {USUAL_REST}.",
    )(function)


def books_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--ledger`` and what goes with it, of commands that give cuts."""
    for wrap in (
        click.option(
            "--ledger-passphrase",
            metavar="@FILE",
            help="Passphrase of the ledger; asked for if not given.",
        ),
        rest_option,
        click.option(
            "--system",
            default="",
            metavar="NAME",
            help="System in the ledger; else the job's name.",
        ),
        click.option(
            "--ledger",
            metavar="PLACE",
            help="Ledger that says which returned cuts may be offered again: a file or a URL.",
        ),
    ):
        function = wrap(function)
    return function


def books_of(
    place: str | None, system: str, rest: int, passphrase: str | None
) -> "tuple[Books | None, tuple[Finding, ...]]":
    """The books that the options name, with their passphrase as read; None without ``--ledger``."""
    if place is None:
        return None, ()
    from pinloom.workflow.reuse import Books

    word, said = read_secret(passphrase if passphrase is not None else "-", "ledger's passphrase")
    return Books(place=place, passphrase=word, system=system, rest=rest), said


def show(screen: Screen, found: Any, *, every: bool) -> dict[str, Any]:
    """Standings of combinations, as a table and as plain values; those in use only when asked."""
    told = [_told(one) for one in found.combinations]
    shown = [one for one in told if every or not one["in_use"]]
    used = len(told) - sum(not one["in_use"] for one in told)
    screen.heading(f"{found.system.name}: combinations after a rest of {found.rest} days")
    if shown:
        heads = ("key", "cuts", "copies", "offered again", "its doors")
        screen.table(heads, [_line(one) for one in shown], wrap=("offered again", "its doors"))
    else:
        screen.say("Every combination is in use: none was retired or cut anew.")
    for one in shown:
        if one["missing"] or one["state"] == Offer.NEVER.value:
            screen.say(f"{one['key']}, cuts {one['combination']}: {_why(one)}.")
    if used and not every:
        are = "combination is" if used == 1 else "combinations are"
        screen.say(f"{used:,} {are} in use by the approved revision; --all shows them.")
    screen.say(
        "Cuts are numbered 1 for a key's first. Clean: every copy is accounted for, or no door "
        "turns to the combination any more. The length of the rest is the shop's own choice."
    )
    return {"system": found.system.name, "rest": found.rest, "combinations": told}


def _told(one: Any) -> dict[str, Any]:
    standing = one.standing
    return {
        "key": one.key,
        "combination": one.combination,
        "in_use": one.in_use,
        "state": standing.offer.value,
        "free_from": standing.free_from.isoformat() if standing.free_from else None,
        "distrusted": standing.distrusted,
        "copies": [copy_figures(copy) for copy in one.copies],
        "missing": [copy_figures(copy) for copy in standing.missing],
        "doors": list(one.doors),
        "clean": one.clean,
    }


def copy_figures(copy: CopyPast) -> dict[str, str | None]:
    """What is known of a copy, as data."""
    return {
        "stamp": copy.stamp,
        "where": copy.where.value,
        "holder": copy.holder,
        "since": copy.since.isoformat() if copy.since else None,
    }


def _line(one: dict[str, Any]) -> tuple[str, ...]:
    if one["state"] == Offer.NEVER.value:
        offered = "never, as the books stand"
    elif one["state"] == Offer.RESTING.value:
        offered = f"rests; free from {one['free_from']}"
    else:
        offered = f"free since {one['free_from']}" if one["free_from"] else "free, never was out"
    if one["in_use"]:
        offered = f"in use ({offered})"
    doors = one["doors"]
    named = ", ".join(doors[:MOST_DOORS])
    if len(doors) > MOST_DOORS:
        named += f" and {len(doors) - MOST_DOORS} more"
    state = "clean" if one["clean"] else "not known to be clean"
    copies = str(sum(copy["where"] != Whereabouts.NO_RECORD.value for copy in one["copies"]))
    return (one["key"], str(one["combination"]), copies, offered, f"{state}: {named or 'none'}")


def _why(one: dict[str, Any]) -> str:
    reasons = []
    for copy in one["missing"]:
        where = Whereabouts(copy["where"])
        held = f", {HELD[where]} {copy['holder']}" if copy["holder"] and where in HELD else ""
        reasons.append(f"{copy['stamp']} is {where.value}{held}")
    if not one["copies"]:
        reasons.append("no copy is on record, so nobody knows how many there are")
    if one["distrusted"] and not one["missing"]:
        reasons.append("a copy was lost and found, and nobody answers for it")
    return "; ".join(reasons)
