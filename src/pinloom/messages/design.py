"""Wording of the findings of the design stage.

A remedy's ``do`` is the change itself, in a few words, as it stands in a list of what would help.
"""

from pinloom.messages._wording import Wording

_LESS = "Take marks off the chart, give doors a key of their own, or use hardware with more room."

WORDINGS: dict[str, Wording] = {
    "design-blank-cannot-enter": Wording(
        what="Key {key} shall open {door}, and its blank does not enter the keyway there.",
        do="Give the key a blank that enters, give the door another keyway, or take the mark off.",
    ),
    "design-clash": Wording(
        what="{doors} and {keys} cannot go together on this hardware: every way to cut the keys "
        "was excluded. Given cuts stay, and no other key gets cuts that are all alike.",
        do="Change the marks between them, or use hardware with more room.",
    ),
    "design-crossed-keys": Wording(
        what="{keys} keys each open every one of as many doors but one. A chamber can keep {each} "
        "such keys out of their doors, so {chambers} chambers settle {cap} of them.",
        do="Let some of these keys open their missing door too, or give some of these doors a "
        "key or a keyway of their own.",
    ),
    "design-gave-up": Wording(
        what="No design was found in {steps} steps, and none was excluded.{nearest}",
        do="Allow more steps, try another seed, or ease the doors and keys that are still wrong.",
    ),
    "design-gave-up-nearly-full": Wording(
        what="No design was found in {steps} steps, and none was excluded.{nearest} Under {master} "
        "the chart asks for {keys} keys, {percent} % of the {cap} that counting allows at the very "
        "most.",
        do="A chart this full leaves little to choose: use one chamber more, split the system, or "
        "allow more steps.",
    ),
    "design-given-breaks-macs": Wording(
        what="The given cuts of key {key} break MACS {macs}: two neighbouring cuts differ by more.",
        do="Correct the cuts, or use the format the key was really cut to.",
    ),
    "design-given-is-avoided": Wording(
        what="The given cuts of key {key} are those of a key that this system must avoid.",
        do="Give the key other cuts, or take the other system off the list to avoid.",
    ),
    "design-given-opens": Wording(
        what="With the given cuts of {openers}, key {key} opens {door} and shall not; further keys "
        "only widen that.",
        do="Re-cut one of these keys, or mark the key on that door if it may open it.",
    ),
    "design-given-opens-foreign": Wording(
        what="The given cuts of key {key} open a cylinder of a system that this one must avoid.",
        do="Give the key other cuts, or take the other system off the list to avoid.",
    ),
    "design-given-pin-not-made": Wording(
        what="The given cuts of {key} and {other} differ in a chamber of {door} by a master pin "
        "that is not made or not allowed, and no third cut can lie between.",
        do="Re-cut one of the two keys, or allow the pin in the hardware format.",
    ),
    "design-given-twice": Wording(
        what="Keys {key} and {other} are given the same cuts.",
        do="Make them one key in the chart, or give one of them other cuts.",
    ),
    "design-layouts-too-small": Wording(
        what="No design was found in {steps} steps, and none was excluded. The largest group has "
        "{asked} keys, and the best layout found holds {holds} in every group.",
        do="Make the groups smaller, use hardware with one chamber more, or split the system. The "
        "limit of a layout is no proof: another layout may hold more.",
    ),
    "design-middle-masters": Wording(
        what="No design was found in {steps} steps, and none was excluded. The largest group has "
        "{asked} keys; with its {masters} masters the best layout found holds {holds} in every "
        "group, without the middle masters {flat}.",
        do="Give up middle masters, or use hardware with one chamber more. The limit of a layout "
        "is no proof: another layout may hold more.",
    ),
    "design-more-keys-than-bittings": Wording(
        what="The chart has {keys} keys, and only {words} bittings keep MACS on this hardware.",
        do="Use hardware with more chambers or depths, or split the system.",
    ),
    "design-more-keys-than-separable": Wording(
        what="The chart has {keys} keys with different doors. They must be told apart, and no more "
        "than {words} bittings of this hardware are.",
        do="Use hardware with more chambers or depths, or split the system.",
    ),
    "design-same-doors": Wording(
        what="Keys {keys} open the same doors. Each has cuts of its own.",
        do="If they are copies of one key, make them one row with a number of copies.",
    ),
    "design-too-many-keys-on-a-door": Wording(
        what="{keys} different keys shall open {door}. With {levels} levels in each of {chambers} "
        "chambers at most {box} different keys fit.",
        do="Allow more master pins in a chamber, or let fewer keys open that door.",
    ),
    "design-too-many-on-shared-door": Wording(
        what="{keys} keys that are each told apart under {master} share {door}. With {levels} "
        "levels in a chamber of that door at most {cap} of them fit.",
        do="Allow more master pins in a chamber, or let fewer keys open that door.",
    ),
    "design-too-many-refusals": Wording(
        what="The chart asks for {cells} refusals of a key by a door. {chambers} chambers can "
        "settle no more than {settled} of them.",
        do=_LESS,
    ),
    "design-too-many-under-master": Wording(
        what="{keys} keys have a door of their own under {master}. With {levels} cuts that can be "
        "told apart in each of {chambers} chambers, no more than {cap} of them fit under one "
        "master without opening each other's doors.",
        do="Use hardware with one chamber more or with finer cuts, or split the system in two.",
    ),
    "progression-column": Wording(
        what="In chamber {chamber} the rows of the array do not hold different ones of the cuts "
        "{beside} beside the top master's.",
        do="Correct the rows, or leave them out to progress from shallow to deep.",
    ),
    "progression-cuts": Wording(
        what="The {what} is not {chambers} whole cuts of {format}.",
        do="Give every cut, as stamped or as depth numbers.",
    ),
    "progression-master-macs": Wording(
        what="The top master breaks MACS {macs}: two neighbouring cuts differ by more.",
        do="Choose another top master, or correct the MACS of the format.",
    ),
    "progression-no-chamber": Wording(
        what="Chamber {chamber} is named, and the format has {chambers}.",
        do="Name chambers of the format, counted from 1.",
    ),
    "progression-nothing-moves": Wording(
        what="{rotating} chambers shall keep the master's cut in turn, and {moving} move at all.",
        do="Rotate fewer chambers, or name fewer constants.",
    ),
    "progression-order": Wording(
        what="The order does not name each of the moving chambers {chambers} once.",
        do="Name exactly these chambers, the fastest first.",
    ),
    "remedy-another-format": Wording(
        what="The same chart fits hardware {format}.", do="Use hardware {format}."
    ),
    "remedy-drop-mark": Wording(
        what="It fits when key {key} does not open {door}.", do="Let key {key} not open {door}."
    ),
    "remedy-leave-outside-master": Wording(
        what="It fits when {door} stays outside master {key}.",
        do="Leave {door} outside master {key}.",
    ),
    "remedy-less-room": Wording(
        what="Less room for further change keys would help.",
        do="Ask for less room: {room}.",
    ),
    "remedy-one-more-chamber": Wording(
        what="With one more chamber, {chambers} in all, it fits.",
        do="Use hardware with one more chamber, {chambers} in all.",
    ),
    "remedy-one-more-master-pin": Wording(
        what="It fits when a chamber may hold {most} master pins.",
        do="Allow {most} master pins in a chamber.",
    ),
    "remedy-second-keyway": Wording(
        what="It fits when {door} has a second keyway that only its own keys enter.",
        do="Give {door} a second keyway that only the blanks of keys for {door} enter.",
    ),
    "remedy-single-key-door": Wording(
        what="It fits when {door} is off the system.",
        do="Single-key {door}, off the system.",
    ),
    "remedy-without-middle-masters": Wording(
        what="Without the middle {masters} {keys} it fits.",
        do="Do without the middle {masters} {keys}.",
    ),
}
