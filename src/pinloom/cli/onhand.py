"""The pins on hand on the screen: what is short, and what to buy where no design exists."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pinloom.cli.screen import Screen
from pinloom.core.hardware import HardwareFormat
from pinloom.core.lengths import in_inch
from pinloom.messages.words import PARTS

if TYPE_CHECKING:  # loads the engine; commands without a kit must not wait for it
    from pinloom.workflow.kitdesign import KitResult, Purchase, Short


def on_hand(screen: Screen, kit: "KitResult") -> None:
    """What a job takes beyond the kit, with how few any design could be short of."""
    screen.heading("Pins on hand")
    lacking(screen, kit.short)
    masters = kit.masters_short
    if masters and masters == kit.bound:
        screen.say(f"Short of {masters:,} master pins; no design with these sizes needs fewer.")
    elif masters:
        screen.say(
            f"Short of {masters:,} master pins; that no design is short of fewer than "
            f"{kit.bound:,} is proved, what lies between is open."
        )


def lacking(screen: Screen, short: Sequence["Short"]) -> None:
    """What the kit lacks, size by size."""
    if not short:
        screen.say("Everything that the kit speaks of is there for the whole job.")
        return
    rows = [
        (
            PARTS[one.part.kind],
            one.part.size,
            one.part.inch(),
            one.part.mm(),
            f"{one.needed:,}",
            f"{one.held:,}",
            f"{one.missing:,}",
        )
        for one in short
    ]
    heads = ("part", "size", "inch", "mm", "needed", "on hand", "to buy")
    screen.table(heads, rows, heads[1:])


def purchase(screen: Screen, bought: "Purchase", made: HardwareFormat) -> None:
    """The sizes of master pins to buy so that a design exists."""
    from pinloom.workflow.kitdesign import Verdict

    screen.heading("With other master pins")
    if bought.sizes:
        lengths = ", ".join(f"{n} ({in_inch(n * made.step)} in)" for n in bought.sizes)
        least = "fewer sizes were proved not to do" if bought.least else "fewer may do"
        screen.say(f"With master pins of these steps too a design exists: {lengths}; {least}.")
    elif bought.verdict is Verdict.IMPOSSIBLE:
        screen.say("No: with every size that is made there is no design either.")
    else:
        screen.say(
            f"Not known: {bought.tried} choices of sizes were tried, none with a design, and not "
            "all of them excluded."
        )


def figures(kit: "KitResult") -> dict[str, Any]:
    """The same for ``--json``."""
    return {
        "short": [
            {
                "part": one.part.kind.value,
                "size": one.part.size,
                "needed": one.needed,
                "held": one.held,
            }
            for one in kit.short
        ],
        "least_short": kit.bound,
        "purchase": kit.purchase
        and {
            "sizes": kit.purchase.sizes and list(kit.purchase.sizes),
            "verdict": kit.purchase.verdict.value,
            "proved_least": kit.purchase.least,
        },
    }
