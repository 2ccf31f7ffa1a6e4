"""Room for further change keys on the screen and in JSON. Cuts are shown only on request."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pinloom.cli.screen import Screen
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job

if TYPE_CHECKING:  # these load the whole engine; showing must not wait for it
    from pinloom.workflow.room import Room
    from pinloom.workflow.roomtold import RoomLine, RoomTold

MOST_ROWS = 40  # of masters, unless the whole is asked for
SPARE = "30 to 50 % spare in each group is common practice, no source."


def show_room(screen: Screen, room: "RoomTold", *, full: bool) -> None:
    """What a design keeps, and which groups have the usual room."""
    if not room.lines:
        return
    screen.heading("Room for further change keys")
    shown = room.lines if full else room.lines[:MOST_ROWS]
    screen.table(
        ("under", "keys now", "wish", "further keys", "kept", "there"),
        [_row(line) for line in shown],
        right=("keys now", "further keys", "kept"),
    )
    if len(shown) < len(room.lines):
        screen.say(f"... and {len(room.lines) - len(shown):,} more (--full shows all).")
    if any(line.kept for line in room.lines):
        screen.say(
            "Kept: so many combinations stay free for further keys with doors of their own, all of "
            "them proved together with this job; pinloom room shows them, pinloom grow takes them."
        )
    usual = [line for line in room.lines if line.usual]
    if usual:
        screen.say(_usual(usual))


def _row(line: "RoomLine") -> tuple[str, ...]:
    there = "not counted"
    if line.found is not None:
        there = "yes" if line.found >= line.wanted else f"{line.found:,} found"
    wish = f"{line.wish} (usual)" if line.usual else line.wish
    kept = "" if line.usual else f"{line.kept:,}"
    return line.under, f"{line.keys:,}", wish, f"{line.wanted:,}", kept, there


def _usual(lines: Sequence["RoomLine"]) -> str:
    text = (
        "Nobody asked for room in the groups with the usual wish: not one pin was added for it, "
        f"and each group was looked at by itself. {SPARE} --room KEY=N keeps room, --room 0 leaves "
        "the usual wish out."
    )
    if any(line.found is None for line in lines):
        text += " Groups of this job are counted on request alone: pinloom room counts them."
    return text


def show_refused_room(screen: Screen, room: "RoomTold") -> None:
    """What was asked for where no design came of it."""
    asked = ", ".join(f"{line.under}={line.wanted}" for line in room.lines)
    if room.moot:
        screen.always(f"Room asked for ({asked}) is not the reason: without it none was found.")
        return
    text = f"Room asked for: {asked}. The chart alone has a design"
    if room.fits is None:
        text += "."
    elif any(room.fits.values()):
        told = " ".join(f"--room {_quoted(name, n)}" for name, n in room.fits.items())
        text += f", and so it has with {told}."
    else:
        text += "; none was found with room."
    screen.always(text)


def _quoted(name: str, number: int) -> str:
    text = f"{name}={number}"
    return f'"{text}"' if " " in text else text


def room_figures(room: "RoomTold") -> dict[str, Any]:
    """The same for programs."""
    figures: dict[str, Any] = {
        "groups": [
            {
                "under": line.under,
                "keys": line.keys,
                "wish": line.wish,
                "wanted": line.wanted,
                "kept": line.kept,
                "found": line.found,
                "usual": line.usual,
            }
            for line in room.lines
        ]
    }
    if room.refused:
        figures["fits"] = None if room.fits is None else dict(room.fits)
    return figures


def show_left(screen: Screen, rooms: Sequence["Room"]) -> None:
    """Room left under masters of a finished job."""
    screen.heading("Room for further change keys, nothing touched")
    screen.table(
        ("under", "keys now", "asked", "kept", "certainly fit", "at most"),
        [
            (
                one.master,
                f"{one.existing:,}",
                f"{one.asked:,}" if one.asked else "",
                f"{one.kept:,}" if one.asked else "",
                f"{one.least:,}",
                f"{one.most:,}",
            )
            for one in rooms
        ],
        right=("keys now", "asked", "kept", "certainly fit", "at most"),
    )
    screen.say(
        "Keys now: change keys with doors of their own. Each row stands by itself, beside all that "
        "is kept under other masters: a key taken under one master may use up room under another. "
        f"{SPARE}"
    )


def show_left_shortly(screen: Screen, rooms: Sequence["Room"]) -> None:
    """One line a master, also when quiet."""
    for one in rooms:
        kept = f"{one.asked:,} asked, {one.kept:,} kept; " if one.asked else ""
        screen.always(f"{one.master}: {kept}{one.least:,} certainly fit, {one.most:,} at most.")


def show_next(screen: Screen, rooms: Sequence["Room"], made: HardwareFormat) -> None:
    """The next cuts in order; confidential."""
    for one in rooms:
        screen.heading(f"Next under {one.master} (confidential)")
        kept, others = one.following[: one.kept], one.following[one.kept :]
        if kept:
            screen.say("kept: " + ", ".join(made.stamp(cut) for cut in kept))
        if others or not kept:
            screen.say(", ".join(made.stamp(cut) for cut in others) or "none")


def still_kept(job: Job) -> tuple[str, ...]:
    """A line a master with kept room."""
    return tuple(
        f"{one.under}: {one.asked:,} asked, {len(one.cuts):,} still kept" for one in job.kept
    )


def left_figures(one: "Room", made: HardwareFormat, *, cuts: bool) -> dict[str, Any]:
    """Room left under one master for programs; ``cuts`` = with the next ones, as stamped."""
    figures: dict[str, Any] = {
        "under": one.master,
        "existing": one.existing,
        "least": one.least,
        "most": one.most,
        "asked": one.asked,
        "kept": one.kept,
    }
    if cuts:
        figures["next"] = [made.stamp(cut) for cut in one.following]
    return figures
