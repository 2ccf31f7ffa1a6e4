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
    "pinning-control-macs": Wording(
        what="{key}: neighbouring cuts are more than {macs} steps apart.",
        do="Choose control cuts that can be cut.",
    ),
    "pinning-control-near-master": Wording(
        what="{key} is equal or next to the top master at positions {positions}.",
        do="A control key should differ from the top master in every chamber where it acts.",
    ),
    "pinning-control-operates": Wording(
        what="{key} has the cuts of an operating key.",
        do="Reserve the control key: give it cuts that no operating key has.",
    ),
    "pinning-control-twice": Wording(
        what="{key} has the same cuts as {other}.",
        do="Give every core group control cuts of its own, or one group to all of them.",
    ),
    "pinning-control-elsewhere": Wording(
        what="{key} has no cut that operates every core of its group outside the control chambers; "
        "door {door} is the first that shares none.",
        do="Put that door into a core group of its own, or let the top master open it.",
    ),
    "pinning-control-position": Wording(
        what="{key} has no possible cut at position {position}: every level is next to the top "
        "master, or asks for a build-up pin that is not made.",
        do="Free the cut if it was given; otherwise give the cores groups of their own.",
    ),
    "pinning-control-none": Wording(
        what="{key}: none of the {tried} possible control keys keeps apart from all operating keys "
        "and cylinders.",
        do="Divide the cores into groups, or leave room for a control key in the design.",
    ),
    "pinning-control-gave-up": Wording(
        what="{key}: the first {tried} control keys tried do not keep apart from all operating "
        "keys and cylinders.",
        do="Give some of its cuts, another seed, or divide the cores into groups.",
    ),
    "pinning-pin-unread": Wording(
        what="Chamber {chamber}, pin {pin} from the bottom ({part}): {length} in is between two "
        "sizes.",
        do="Measure it again; a worn pin is replaced, not read.",
    ),
    "pinning-fit-not-checked": Wording(
        what="Fit not checked for {format}: the format gives no depth of the chamber, solid height "
        "of the spring or height of the blade.",
        do="Measure them and add them to the format, or try every full stack by hand.",
    ),
    "pinning-overfilled": Wording(
        what="Door {door}, chamber {chamber}: the stack is {over} in too long for the chamber when "
        "the highest peak of a key passes.",
        do="Use a shorter driver or a weaker spring of less solid height.",
    ),
    "pinning-short-stack": Wording(
        what="Door {door}, chamber {chamber}: the stack is {length} in long and does not block "
        "over the deepest cut; {wanted} in is the least.",
        do="Use a longer driver.",
    ),
    "pinning-near-macs": Wording(
        what="{key}: cuts {positions} are within one step of the MACS of {macs}.",
        do="Cut them slowly and look at the peak between them; wear will take it first.",
    ),
    "pinning-master-no-shallow": Wording(
        what="Top master {key} has no shallowest cut ({depth}) in a chamber that is progressed.",
        do="Advice only: with one, no change key can be filed down to the master there.",
    ),
    "pinning-master-no-deep": Wording(
        what="Top master {key} has no deepest cut ({depth}).",
        do="Advice only: with one, the master cannot be filed down to any other key there.",
    ),
    "pinning-master-uniform": Wording(
        what="Top master {key} is shallow or deep throughout.",
        do="Advice only: mix shallow and deep cuts.",
    ),
    "pinning-master-declining": Wording(
        what="The cuts of top master {key} decline steadily.",
        do="Advice only: let them rise and fall.",
    ),
    "pinning-unpinned": Wording(
        what="Door {door} leaves chambers {chambers} unpinned: {keys} cuttable keys open it, where "
        "{pinned} would with all chambers pinned.",
        do="Keep this for common entrances that something else guards, and have it agreed to.",
    ),
    "pinning-not-master-keyed": Wording(
        what="Door {door} is outside every master.",
        do="See to it that those who must enter in an emergency can, and keep its key on record.",
    ),
    "pinning-excepted": Wording(
        what="Door {door} is outside these masters: {keys}.",
        do="See to it that those who must enter in an emergency can.",
    ),
    "pinning-single-keyed": Wording(
        what="Door {door} has a key of its own, {key}, and no other opens it.",
        do="Keep a sealed copy: without one a lost key means a drilled cylinder.",
    ),
    "pinning-keyed-alike": Wording(
        what="Keyed alike, {cylinders} cylinders: {doors}.",
        do="One lost key exposes all of them; pin them together.",
    ),
    "pinning-padlock": Wording(
        what="{door} is a padlock on the system: it can be carried off and taken apart.",
        do="Keep padlocks off the top master where they hang outside, or give them keys alone.",
    ),
    "pinning-other-hardware": Wording(
        what="{doors} doors, {example} first, have {format} cylinders for keys of {keys}; cuts "
        "they do not check: {unseen}.",
        do="Keys that differ only in such cuts open those doors alike; the proof counts it so.",
    ),
    "pinning-construction-no-cut": Wording(
        what="No construction key: in chamber {position} the doors share no operating cut; door "
        "{door} is the first that has none in common with those before it.",
        do="Put fewer doors on the construction key, or doors that one master opens.",
    ),
    "pinning-construction-no-chamber": Wording(
        what="No construction key by {method}: no chamber has a cut that stays the least step away "
        "from every key of the job, keeps MACS, and asks for pins that are made.",
        do="Reserve a chamber in the design, try the other method, or use fewer doors.",
    ),
    "pinning-construction-alike": Wording(
        what="The construction key has the cuts of {key} everywhere but in chamber {position}.",
        do="Whoever keeps a construction key holds most of those cuts: collect and destroy every "
        "copy at the changeover.",
    ),
}
