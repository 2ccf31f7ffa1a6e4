"""Wording of the findings of the sheets stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "sheets-not-proved": Wording(
        what="This job is not proved (faults: {faults}), so no sheet is made of it.",
        do="Mend the job and prove it; nothing is cut or pinned from an unproved one.",
    ),
    "sheets-not-approved": Wording(
        what="Nobody approved revision {revision}: the bench's sheets say NOT APPROVED across "
        "every page.",
        do="Have the keying schedule signed, then name who approved it, and on what authority, "
        "with --approved-by.",
    ),
    "sheets-no-such-sheet": Wording(
        what="There is no sheet called {name}.",
        do="Sheets are: {names}.",
    ),
    "sheets-unprintable": Wording(
        what="The text of {what} has signs that cannot be printed as written: {signs}.",
        do="Spell it with other signs; sheets never leave a sign out or put another in its place.",
    ),
    "sheets-stamp-instead": Wording(
        what="{count} keys are stamped with a number instead of their symbol, for example {keys}: "
        "the symbol says master, reads as cuts, names a place or is too long.",
        do="Use the stamps of the cutting list; the bitting list says which key is which.",
    ),
    "sheets-unwritable": Wording(
        what="The sheets cannot be written: {reason}.",
        do="Name another folder, or make room in this one.",
    ),
}
