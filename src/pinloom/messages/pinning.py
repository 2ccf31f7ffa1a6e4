"""Wording of the findings of the pinning stage."""

from pinloom.messages._wording import Wording

_RECUT = "Re-cut a key of this door so that neighbouring cuts differ by a size that is made."

WORDINGS: dict[str, Wording] = {
    "pinning-foreign-keys": Wording(
        what="Keys of {keys} do not fit the {cylinder} cylinder of door {door}: their cuts lie at "
        "other places or other depths.",
        do="Order the cylinder in the family of the keys, or name another format for the job.",
    ),
    "pinning-no-keys": Wording(
        what="No active key opens door {door}, so nothing says how to pin it.",
        do="Mark a key for the door, or keep the pins it has; never leave a cylinder empty.",
    ),
    "pinning-no-such-chamber": Wording(
        what="Door {door} leaves chamber {chamber} unpinned, but its cylinder has {chambers}.",
        do="Count chambers from 1 in the format's reading order.",
    ),
    "pinning-all-unpinned": Wording(
        what="Door {door} leaves every chamber unpinned: anything would open it.",
        do="Pin at least the chambers that tell its keys from others.",
    ),
    "pinning-no-control": Wording(
        what="Door {door} takes a core, but there is no control key {control} for its group.",
        do="Give the control cuts, or let them be chosen.",
    ),
    "pinning-no-such-master": Wording(
        what="Door {door}, chamber {chamber}: no master pin of {size} steps is made ({made} are).",
        do=_RECUT,
    ),
    "pinning-too-many-masters": Wording(
        what="Door {door}, chamber {chamber} needs {count} master pins; {most} is the most.",
        do="Let fewer different cuts operate this chamber.",
    ),
    "pinning-too-deep": Wording(
        what="Door {door}, chamber {chamber}: the pins add up to more than the deepest cut, "
        "{deepest}.",
        do="Check the pins against the record of the cylinder.",
    ),
    "pinning-sign-off": Wording(
        what="Door {door} holds more than two master pins in a chamber: {chambers}.",
        do="Have it signed off: every further pin lets in keys that nobody cut, and weakens the "
        "cylinder.",
    ),
    "pinning-stray-buildup": Wording(
        what="Door {door}, chamber {chamber} holds a build-up pin of {size}, but no control line "
        "crosses it.",
        do="Remove the pin, or check the format of the cylinder.",
    ),
    "pinning-impossible-control": Wording(
        what="Door {door}, chamber {chamber}: a build-up pin of {size} on these pins means a "
        "control cut of {number}; cuts go from {low} to {high}.",
        do="Check the stack; no control key could draw this core.",
    ),
    "pinning-thin-buildup": Wording(
        what="Door {door}, chamber {chamber}: a build-up pin of {size} steps is {length} in; below "
        "{least} in it can tilt or wedge.",
        do="Choose a control cut further from the deepest cut of this chamber.",
    ),
    "pinning-no-such-buildup": Wording(
        what="Door {door}, chamber {chamber}: no build-up pin of {size} is made ({made} are).",
        do="Choose another control cut for this chamber.",
    ),
    "pinning-no-driver": Wording(
        what="Door {door}, chamber {chamber}: no driver is made for these pins.",
        do="Check the stack total, and the drivers that the format lists.",
    ),
    "pinning-security-driver": Wording(
        what="Door {door}, chamber {chamber}: security driver {label} must not stand here.",
        do="Use it only in the chambers and lengths that the format lists, and never over a thin "
        "master pin.",
    ),
}
