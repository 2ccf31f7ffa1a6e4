"""What ``pinloom lost`` shows of plans for a lost key, on a screen and as figures."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pinloom.cli.rest import HELD, copy_figures
from pinloom.cli.roomtold import still_kept

if TYPE_CHECKING:
    from pinloom.cli.screen import Screen
    from pinloom.workflow.lost import (
        Bill,
        LostResult,
        Prices,
        ProvedPlan,
        Stage,
        StateProof,
        Tally,
    )

MOST = 30  # names in a list without --full


def report(screen: "Screen", result: "LostResult", prices: "Prices", *, full: bool) -> None:
    """Exposure, plans, the doors that matter now, cautions and the verdict."""
    _exposure(screen, result, full=full)
    _copies(screen, result)
    for position, one in enumerate(result.plans, start=1):
        _plan(screen, position, one, prices, full=full)
    _urgent(screen, result, prices, full=full)
    _rest(screen, result)


def _exposure(screen: "Screen", result: "LostResult", *, full: bool) -> None:
    if result.answer is None:
        return
    exposure = result.answer.exposure
    screen.heading(f"Lost: {exposure.key}")
    if not exposure.doors and not exposure.beyond:
        screen.say("It opens no door: nothing to re-pin.")
        return
    screen.say(f"Until they are re-pinned it opens {_counted(exposure.tally)}:")
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
    bound = result.answer.bound
    screen.say(
        f"No plan can take fewer than {_many(bound.cylinders, 'cylinder')} or "
        f"{_many(bound.keys, 'key')} cut anew or, pinned at the doors, less than "
        f"{_many(bound.minutes, 'minute')}. Minutes that no option gives are guesses, no source."
    )


def _copies(screen: "Screen", result: "LostResult") -> None:
    """What the books know of the copies, where they were asked."""
    if result.copies is None:
        return
    if not result.copies:
        screen.say("The books have no copy with its cuts, so nobody knows how many there are.")
        return
    is_are = "is" if len(result.copies) == 1 else "are"
    screen.say(
        f"By the books there {is_are} {_copies_of(len(result.copies))} with its cuts. All that can "
        "be had come back, and are destroyed when the last of its doors is done:"
    )
    screen.table(
        ("copy", "by the books"),
        [
            (
                copy.stamp,
                f"{copy.where.value}, {HELD[copy.where]} {copy.holder}"
                if copy.holder and copy.where in HELD
                else copy.where.value,
            )
            for copy in result.copies
        ],
    )


def _copies_of(count: int) -> str:
    return "1 copy" if count == 1 else f"{count:,} copies"


def _plan(
    screen: "Screen", number: int, one: "ProvedPlan", prices: "Prices", *, full: bool
) -> None:
    plan = one.plan
    screen.heading(f"Plan {number}: re-cut {plan.name}")
    swap = [("with spare cores", _billed(plan.swap))] if plan.swap is not None else []
    screen.facts(
        [
            ("minutes", f"{_billed(plan.bill)}; {_least(plan.minutes, plan.least)}"),
            *swap,
            ("keys to cut", f"{_pieces(one)}: {_names(plan.recut, full=full)}"),
            ("to re-pin", f"{_counted(plan.tally)}; {_cylinders_least(one)}"),
            ("proof", "every state proved" if one.proved else "NOT PROVED"),
            *(("room kept", text) for text in still_kept(one.job)),
        ]
    )
    _trips(screen, plan.stages, one.states, prices, full=full)
    if plan.swap_stages and plan.swap_stages != plan.stages:
        proved = not any(state.broken for state in one.swap_states)
        screen.say(
            f"With spare cores in {_many(len(plan.swap_stages), 'trip')}, "
            f"{'each proved' if proved else 'NOT PROVED'}."
        )


def _trips(
    screen: "Screen",
    stages: "Sequence[Stage]",
    states: "Sequence[StateProof]",
    prices: "Prices",
    *,
    full: bool,
) -> None:
    for number, (stage, state) in enumerate(zip(stages, states, strict=True)):
        day = 1 + number * prices.days
        screen.say(f"Trip {number + 1}, day {day:,}: re-pin {_names(stage.doors, full=full)}.")
        if stage.hand_out:
            screen.say(f"before it, hand out new: {_names(stage.hand_out, full=full)}.", indent=2)
        if stage.take_back:
            screen.say(f"after it, take back old: {_names(stage.take_back, full=full)}.", indent=2)
        if stage.exposed:
            later = _many(len(stages) - number - 1, "trip")
            screen.say(
                f"after it the lost key still opens {_many(len(stage.exposed), 'door')}, "
                f"for {later} more.",
                indent=2,
            )
        if state.meanwhile:
            pairs = tuple(f"{key} in {door}" for key, door in state.meanwhile)
            screen.say(
                "until their doors are done or old copies back, these also open: "
                f"{_names(pairs, full=full)}.",
                indent=2,
            )
        for fault in state.broken[:MOST]:
            screen.say(f"NOT PROVED: {fault.key} at {fault.door}: {fault.kind.value}.", indent=2)


def _urgent(screen: "Screen", result: "LostResult", prices: "Prices", *, full: bool) -> None:
    """Only the doors that matter now. Never told as done."""
    begun = result.urgent
    if begun is None:
        return
    screen.heading("Only the doors that matter now")
    days = begun.trips * prices.days
    pieces = "" if begun.pieces == len(begun.keys) else f" in {begun.pieces:,} copies"
    keys = f": {_names(begun.keys, full=full)}" if begun.keys else ""
    screen.facts(
        [
            ("how", f"begin plan {begun.plan}, and leave the rest of it for later"),
            ("minutes", f"{begun.minutes:,}"),
            ("to re-pin", f"{_counted(begun.tally)}: {_names(begun.doors, full=full)}"),
            ("keys to cut", f"{len(begun.keys):,}{pieces}{keys}"),
            ("proof", "this state proved" if begun.proved else "NOT PROVED"),
        ]
    )
    screen.say(
        f"NOT DONE: the lost key then still opens {_many(len(begun.exposed), 'door')} until "
        f"{_many(begun.trips, 'further trip')} {'is' if begun.trips == 1 else 'are'} made, "
        f"{_many(days, 'day')} at least: "
        f"{_names(begun.exposed, full=full)}."
    )
    screen.points(
        [
            "Walk past these doors more often, at hours that nobody can foretell.",
            "Where a door has a second lock, an alarm or a bolt from inside, use it.",
            "Tell those who work behind them; have them report a key that nobody knows.",
            "Set the date of the last trip now, and have the owner sign for the time between.",
        ]
    )


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
    proved = [n for n, one in enumerate(result.plans, start=1) if one.proved]
    if not proved:
        screen.verdict("\nNO PROVED PLAN.", good=False)
        return
    minutes = _many(result.plans[proved[0] - 1].plan.minutes, "minute")
    screen.verdict(
        f"\nPROVED in every state on the way: {_many(len(proved), 'plan')}; plan {proved[0]} is "
        f"the cheapest, {minutes}.",
        good=True,
    )


def figures_of(result: "LostResult") -> dict[str, object]:
    """Everything as data. No cut."""
    if result.answer is None:
        return {}
    exposure, bound, begun = result.answer.exposure, result.answer.bound, result.urgent
    return {
        "key": exposure.key,
        "doors": list(exposure.doors),
        "openings": exposure.tally.openings,
        "cylinders": exposure.tally.cylinders,
        "beyond": list(exposure.beyond),
        "pins_alone": exposure.pins_alone,
        "copies": None if result.copies is None else [copy_figures(one) for one in result.copies],
        "bound": {
            "cylinders": bound.cylinders,
            "keys": bound.keys,
            "minutes": bound.minutes,
        },
        "plans": [_plan_figures(one) for one in result.plans],
        "urgent": None
        if begun is None
        else {
            "plan": begun.plan,
            "doors": list(begun.doors),
            "cylinders": begun.tally.cylinders,
            "keys": list(begun.keys),
            "minutes": begun.minutes,
            "exposed": list(begun.exposed),
            "trips_left": begun.trips,
            "proved": begun.proved,
            "done": False,
        },
        "excluded": list(result.answer.excluded),
        "open": list(result.answer.open),
    }


def _plan_figures(one: "ProvedPlan") -> dict[str, object]:
    plan = one.plan
    return {
        "name": plan.name,
        "minutes": plan.minutes,
        "least": plan.least,
        "spares": plan.spares,
        "bill": _bill_figures(plan.bill),
        "swap": None if plan.swap is None else _bill_figures(plan.swap),
        "recut": list(plan.recut),
        "repin": list(plan.repin),
        "cylinders": plan.tally.cylinders,
        "openings": plan.tally.openings,
        "proved": one.proved,
        "stages": [
            {
                "doors": list(stage.doors),
                "hand_out": list(stage.hand_out),
                "take_back": list(stage.take_back),
                "exposed": list(stage.exposed),
                "meanwhile": [list(pair) for pair in state.meanwhile],
            }
            for stage, state in zip(plan.stages, one.states, strict=True)
        ],
    }


def _bill_figures(bill: "Bill") -> dict[str, int]:
    return {
        "cylinders": bill.cylinders,
        "pieces": bill.pieces,
        "trips": bill.trips,
        "doors": bill.doors,
        "bench": bill.bench,
        "keys": bill.keys,
        "ways": bill.ways,
        "minutes": bill.minutes,
    }


def _billed(bill: "Bill") -> str:
    bench = f", bench {bill.bench:,}" if bill.bench else ""
    return (
        f"{bill.minutes:,} (doors {bill.doors:,}{bench}, keys {bill.keys:,}, "
        f"{_many(bill.trips, 'trip')} {bill.ways:,})"
    )


def _least(minutes: int, least: int) -> str:
    if minutes <= least:
        return "proved to be the least"
    return f"no plan can take less than {least:,}"


def _cylinders_least(one: "ProvedPlan") -> str:
    plan = one.plan
    if plan.tally.cylinders <= plan.bound.cylinders:
        return "proved to be the fewest"
    return f"no plan can take fewer than {_many(plan.bound.cylinders, 'cylinder')}"


def _pieces(one: "ProvedPlan") -> str:
    """How many keys are cut anew, and how many pieces that are; the minutes count pieces."""
    anew, pieces = len(one.plan.recut), one.plan.bill.pieces
    return f"{anew:,}" if pieces == anew else f"{anew:,} in {pieces:,} copies"


def _counted(tally: "Tally") -> str:
    """Doors as the chart has rows; openings and cylinders only where they are other numbers."""
    told = _many(tally.doors, "door")
    more = []
    if tally.openings != tally.doors:
        more.append(_many(tally.openings, "opening"))
    if tally.cylinders != tally.doors:
        more.append(_many(tally.cylinders, "cylinder"))
    return f"{told} ({', '.join(more)})" if more else told


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"


def _names(names: Sequence[str], *, full: bool) -> str:
    if full or len(names) <= MOST:
        return ", ".join(names)
    return f"{', '.join(names[:MOST])} and {len(names) - MOST:,} more"
