"""How the ledger's answers look: tables of 80 columns, or plain values for JSON.

Nothing here shows a cut but ``stacks`` and ``pins``, which the command ``pins`` alone uses.
"""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from typing import Any

from pinloom.cli.screen import Screen

Rows = Sequence[dict[str, Any]]


def rows(screen: Screen, found: Rows, heads: Sequence[str], nothing: str) -> Rows:
    """A table of some of the values, or a sentence when there are none."""
    if not found:
        screen.say(nothing)
        return found
    screen.table(heads, [[str(row[head]) for head in heads] for row in found])
    return found


def held(screen: Screen, found: Iterable[Any]) -> Rows:
    """Keys that are with somebody."""
    told = [
        {
            "key": one.copy.stamp,
            "system": one.system.name,
            "holder": one.holder.name if one.holder else "",
            "number": one.holder.id if one.holder else None,
            "out": day(one.copy.out_at),
            "due": one.copy.due,
            "state": "late" if one.late else one.copy.state,
        }
        for one in found
    ]
    heads = ("key", "system", "holder", "out", "due", "state")
    return rows(screen, told, heads, "Nothing is out.")


def openers(screen: Screen, found: Iterable[Any]) -> Rows:
    """Keys that open doors, and where they are."""
    told = [
        {
            "door": one.door,
            "key": one.copy.stamp,
            "with": one.holder.name if one.holder else "",
            "state": one.copy.state,
            "revision": f"{one.revision}{' (assumed)' if one.assumed else ''}",
        }
        for one in found
    ]
    told.sort(key=lambda one: (one["door"], one["state"], one["key"]))
    made = rows(screen, told, ("door", "key", "with", "state", "revision"), "No key opens it.")
    if any("assumed" in one["revision"] for one in told):
        screen.say("assumed: no cylinder is recorded at the door; the approved revision is taken.")
    return made


def found_things(screen: Screen, found: Iterable[Any]) -> Rows:
    """What a search found."""
    told = [{"what": one.kind, "name": one.label, "number": one.ref} for one in found]
    for one in told:
        one["number"] = f"#{one['number']}" if str(one["number"]).isdecimal() else ""
    return rows(screen, told, ("what", "name", "number"), "Nothing has such a name.")


def events(screen: Screen, found: Iterable[Any]) -> Rows:
    """What happened."""
    told = [
        {
            "number": one.seq,
            "at": minute(one.at),
            "what": one.kind.value,
            "name": one.name,
            "by": one.who,
            "why": one.why,
            "flag": one.flag,
        }
        for one in found
    ]
    return rows(screen, told, ("number", "at", "what", "name", "by", "why"), "Nothing happened.")


def register(screen: Screen, found: Iterable[Any]) -> Rows:
    """Lines of the register."""
    told = [asdict(one) for one in found]
    shown = [
        {
            "key": one["key_number"],
            "out": minute(one["out_at"]),
            "issuer": one["issuer"],
            "receiver": one["receiver"],
            "signed": signed(one),
            "back": minute(one["back_at"]) or ("void" if one["void"] else one["ended"]),
        }
        for one in told
    ]
    heads = ("key", "out", "issuer", "receiver", "signed", "back")
    rows(screen, shown, heads, "It was never issued.")
    return told


def signed(line: dict[str, Any]) -> str:
    """Who of issuer and receiver has signed."""
    marks = [("issuer", line["issuer_signature"]), ("receiver", line["receiver_signature"])]
    return " and ".join(who for who, mark in marks if mark) or "nobody"


def receipt(screen: Screen, line: Any) -> dict[str, Any]:
    """A receipt to print and sign; its number anchors the chain."""
    screen.heading(f"Receipt {line.receipt}")
    screen.facts(
        [
            ("key number", line.key_number),
            ("system", line.system),
            ("out", f"{minute(line.out_at)} UTC"),
            ("due", line.due or "no date"),
            ("issued by", line.issuer),
            ("received by", line.receiver),
            *(
                [("back", f"{minute(line.back_at)} UTC, to {line.received_by}")]
                * bool(line.back_at)
            ),
            *([("void", "recorded by mistake")] * line.void),
        ]
    )
    if not line.back_at:
        screen.lines(
            f"\nissuer's signature    {line.issuer_signature or '_' * 40}\n\n"
            f"receiver's signature  {line.receiver_signature or '_' * 40}\n"
        )
        screen.say(
            "\nThe receiver keeps this key in person, has no copy made, and reports its loss "
            "at once."
        )
    else:
        screen.lines(f"\nreceived back         {line.back_signature or '_' * 40}\n")
    return asdict(line)


def systems(screen: Screen, found: Iterable[Any]) -> Rows:
    """Systems at a glance."""
    told = [
        {
            "system": one.system.name,
            "site": one.site,
            "number": one.system.id,
            "latest": one.system.latest,
            "approved": one.system.approved or "",
            "counted": day(one.system.inventoried),
        }
        for one in found
    ]
    heads = ("system", "site", "latest", "approved", "counted")
    return rows(screen, told, heads, "There is no system yet.")


def system(screen: Screen, one: Any) -> dict[str, Any]:
    """One system: its revisions, and what is left to do in the building."""
    screen.heading(f"{one.system.name}, {one.site}")
    revisions = [
        {
            "revision": row.number,
            "proved": "yes" if row.proved else f"no, {row.faults} faults",
            "approved": f"{day(row.approved_at)} {row.approved_by}".strip(),
            "authority": row.authority,
        }
        for row in one.revisions
    ]
    rows(screen, revisions, ("revision", "proved", "approved", "authority"), "No revision yet.")
    to_pin = [
        {"door": door, "cylinder": row.mark if row else "none recorded"}
        for door, row in one.to_do.cylinders
    ]
    old = [{"key": copy.stamp, "state": copy.state} for copy in one.to_do.copies]
    lost = [{"key": row.name} for row in one.to_do.lost]
    if to_pin:
        screen.heading("To pin")
        rows(screen, to_pin, ("door", "cylinder"), "")
    if old:
        screen.heading("Old cuts, to call back and destroy")
        rows(screen, old, ("key", "state"), "")
    if lost:
        screen.heading("Lost combinations, their cores to replace")
        rows(screen, lost, ("key",), "")
    if not (to_pin or old or lost):
        screen.say("The building agrees with the approved revision, as far as it is recorded.")
    return {
        "system": one.system.name,
        "site": one.site,
        "revisions": revisions,
        "to_pin": to_pin,
        "old_cuts": old,
        "lost": lost,
    }


def cylinders(screen: Screen, found: Iterable[Any]) -> Rows:
    """Spare cylinders and cores."""
    told = [
        {
            "mark": one.mark,
            "pinned for": one.pinned_for,
            "revision": one.revision,
            "since": day(one.pinned_at),
            "place": one.place or "nowhere said",
        }
        for one in found
    ]
    heads = ("mark", "pinned for", "revision", "since", "place")
    return rows(screen, told, heads, "There are no spares.")


def blanks(screen: Screen, found: Iterable[Any]) -> Rows:
    """The stock of blanks."""
    told = [
        {
            "blank": one.name,
            "restricted": "yes" if one.restricted else "no",
            "received": one.received,
            "cut": one.cut,
            "spoiled": one.spoiled,
            "found": f"{one.adjusted:+d}" if one.adjusted else "0",
            "left": one.left(),
        }
        for one in found
    ]
    heads = ("blank", "restricted", "received", "cut", "spoiled", "found", "left")
    return rows(screen, told, heads, "There are no blanks.")


def counts_due(screen: Screen, found: Iterable[Any]) -> Rows:
    """Systems whose keys should be counted."""
    told = [{"system": one.system.name, "last": one.last or "never"} for one in found]
    return rows(screen, told, ("system", "last"), "Every system was counted in the last half year.")


def differences(screen: Screen, found: Iterable[Any]) -> Rows:
    """What an inventory found."""
    told = [asdict(one) for one in found]
    return rows(screen, told, ("what", "mark", "books", "seen"), "No difference.")


def pins(one: Any) -> dict[str, Any]:
    """The pins of one cylinder, for JSON. Confidential."""
    return asdict(one)


def stacks(screen: Screen, found: Iterable[Any]) -> None:
    """The pins of one cylinder, chamber by chamber. Confidential."""
    screen.table(
        ("chamber", "bottom", "masters", "build-up", "driver"),
        [
            (
                str(number),
                "unpinned" if one.bottom is None else str(one.bottom),
                " ".join(str(step) for step in one.masters) or "-",
                "" if one.buildup is None else str(one.buildup),
                one.driver,
            )
            for number, one in enumerate(found, start=1)
        ],
        right=("chamber",),
    )


def day(stamp: str) -> str:
    """The date of a stamp."""
    return stamp[:10]


def minute(stamp: str) -> str:
    """Date and time of a stamp, to the minute, UTC."""
    return stamp[:16].replace("T", " ")
