"""Wording of the findings of the proof stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "proof-opens": Wording(
        what="Key {key} opens door {door} and shall not (fit: {detail}).",
        do="Re-cut the key or re-pin the cylinder so that at least one chamber keeps it out by the "
        "least step of the hardware, or mark the key on that door if it may open it.",
    ),
    "proof-blocked": Wording(
        what="Key {key} shall open door {door} and does not ({detail}).",
        do="Add the key's cuts to the stacks of that cylinder, or give the key a blank that enters "
        "its keyway, or take the mark off the chart.",
    ),
    "proof-reaches-control": Wording(
        what="Key {key} turns the control sleeve of the core in door {door} (fit: {detail}).",
        do="Choose other control cuts or re-cut the key: a key in daily use must never be able to "
        "pull a core.",
    ),
    "proof-control-operates": Wording(
        what="Control key {key} also operates door {door} (fit: {detail}).",
        do="Choose control cuts that differ from the operating keys by the least step in at least "
        "one chamber where the control acts.",
    ),
    "proof-control-blocked": Wording(
        what="Control key {key} does not release the core in door {door} ({detail}).",
        do="Check the build-up pins of that core against the control cuts, and that the core's "
        "group has a control key.",
    ),
    "proof-bad-stack": Wording(
        what="The pins of door {door} cannot be: {detail}.",
        do="Correct the pins of that chamber to sizes that the hardware format lists as made.",
    ),
}
