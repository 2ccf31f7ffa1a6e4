"""Wording of the findings of the hardware stage."""

from pinloom.messages._wording import Wording

_FIX = "Correct the field in the format file."

WORDINGS: dict[str, Wording] = {
    "hardware-unknown-format": Wording(
        what="No format or file is called {name!r}.",
        do="Name one of {known}, or give the path of a format file.",
    ),
    "hardware-not-utf8": Wording(
        what="The file is not a UTF-8 text ({reason}).",
        do="Save it as UTF-8 text.",
    ),
    "hardware-not-toml": Wording(
        what="The file is not valid TOML: {reason}.",
        do="Correct the line that is named; the guide shows a whole file.",
    ),
    "hardware-base-circle": Wording(
        what="The files are based on each other without end; the last one names {name!r}.",
        do="Base the file on a shipped format.",
    ),
    "hardware-unknown-field": Wording(
        what="{field} = {value} is not a field of a format file.",
        do="Remove it, or write the name as the guide gives it.",
    ),
    "hardware-bad-value": Wording(what="{field} = {value} cannot be used: {reason}.", do=_FIX),
    "hardware-missing-field": Wording(
        what="{field} is missing.",
        do="Add it from the depth-and-space chart of the hardware.",
    ),
    "hardware-bad-name": Wording(
        what="{field} = {value}: a format name is lower-case letters, digits and hyphens.",
        do="Name the geometry only, such as us-6x10-015.",
    ),
    "hardware-not-positive": Wording(what="{field} = {value} is not above zero.", do=_FIX),
    "hardware-out-of-range": Wording(
        what="{field} = {value} is outside {low} to {high}.",
        do=_FIX,
    ),
    "hardware-too-few-depths": Wording(
        what="{field} lists {value} depths; a key needs at least two.",
        do="List every depth, shallowest first.",
    ),
    "hardware-list-length": Wording(
        what="{field} has {value} entries, but there are {wanted} depth numbers.",
        do="Give one entry for each depth, shallowest first.",
    ),
    "hardware-number-order": Wording(
        what="{field} = {value}: depth numbers go up or down by one, none below zero.",
        do="List the depths from the shallowest to the deepest.",
    ),
    "hardware-number-sums": Wording(
        what="{field} = {value}: numbers fall as cuts deepen, so sums of pin numbers mean nothing.",
        do="Cores and balanced drivers need numbers that rise with the depth.",
    ),
    "hardware-stamped": Wording(
        what="{field} = {value}: each stamped text must be given once, without blanks, commas, "
        "hyphens, ? or *.",
        do=_FIX,
    ),
    "hardware-root-step": Wording(
        what="{field} = {value}, but one step below the depth before it is {wanted}.",
        do="Check the roots and the step against the depth-and-space chart.",
    ),
    "hardware-pin-constant": Wording(
        what="{field} = {value}, but root plus bottom pin must be the same at every depth, "
        "so {wanted} was expected.",
        do="Check the roots and the pins against the chart of the hardware.",
    ),
    "hardware-least-step": Wording(
        what="{field} = {value}: cuts this near are less than {least} apart, and a key that near "
        "may open by wear and clearance.",
        do="Ask for two steps between cuts that must not interchange.",
    ),
    "hardware-no-masters": Wording(
        what="{field} lists no master pins.",
        do="List the lengths of the master pins that are made.",
    ),
    "hardware-not-ascending": Wording(
        what="{field} = {value} must be above zero and rise from one entry to the next.",
        do=_FIX,
    ),
    "hardware-not-multiple": Wording(
        what="{field} = {value} is no whole multiple of the step {step}.",
        do="Check the length and the step.",
    ),
    "hardware-thin-pin": Wording(
        what="{field} = {value}: a pin below {least} can tilt or wedge and is refused.",
        do="Leave the size out; use two steps.",
    ),
    "hardware-driver-kind": Wording(
        what="{field}: give either bands by stack total or one balanced total.",
        do="Remove one of the two, or the whole table where the driver is not known.",
    ),
    "hardware-driver-labels": Wording(
        what="{field} = {value}: every band needs a label of its own.",
        do=_FIX,
    ),
    "hardware-driver-bands": Wording(
        what="{field}: stack total {total} is served by {value!r}, not by exactly one band.",
        do="Let the bands cover every depth number once.",
    ),
    "hardware-total-short": Wording(
        what="{field} = {value} leaves no driver above the deepest cut, number {deepest}.",
        do=_FIX,
    ),
    "hardware-core-offset": Wording(
        what="{field} = {value}: below {least} steps an operating key could reach the control "
        "line by its ordinary cuts.",
        do="Check the steps between the two shear lines.",
    ),
    "hardware-core-total": Wording(
        what="{field} = {value} leaves no top pin over the deepest control cut.",
        do="It must be at least {least}.",
    ),
    "hardware-chamber-list": Wording(
        what="{field} names chambers {value}; there are {chambers}, counted from 1, each once and "
        "in rising order.",
        do=_FIX,
    ),
    "hardware-small-core-chambers": Wording(
        what="{field} = {value}: in a small-format core the control key acts in every chamber.",
        do="Remove the field, or call the core large format.",
    ),
    "hardware-no-such-driver": Wording(
        what="{field} replaces driver {value!r}, which the format does not have.",
        do="Name the label of a plain driver of this format.",
    ),
    "hardware-origin-field": Wording(
        what="An origin is given for {field}, which is no field of a format file.",
        do="Name a field as the file writes it, such as depths.roots or macs.",
    ),
    "hardware-from-memory": Wording(
        what="{format} holds numbers from memory, not confirmed by any source: {fields}.",
        do="Check them against the depth-and-space chart of the hardware in hand; the guide shows "
        "how to confirm them.",
    ),
    "hardware-slim-pin": Wording(
        what="{format} has master pins of {sizes}, below {least}: they can tilt.",
        do="Avoid one-step differences where there is room.",
    ),
    "hardware-narrow-step": Wording(
        what="{format} lets keys one step of {step} apart count as different: a worn lock may "
        "still take them.",
        do="Try the nearest keys by hand in every cylinder.",
    ),
    "hardware-macs-formula": Wording(
        what="{format} states a MACS of {macs}; spacing, flat and angle of the cut give {formula}.",
        do="Trust the maker's figure for this hardware, and check a key with the steepest cuts.",
    ),
}
