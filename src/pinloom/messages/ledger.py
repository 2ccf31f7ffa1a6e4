"""Wording of the findings of the ledger stage: over the counter and at the bench."""

from pinloom.messages import _ledger_keeping, _ledger_lists
from pinloom.messages._wording import Wording

_COUNTER: dict[str, Wording] = {
    "ledger-ambiguous": Wording(
        what="{name} names more than one {what}: {numbers}.",
        do="Give the number instead, with its # sign.",
    ),
    "ledger-approved-before": Wording(
        what=(
            "Revision {revision} of {system} cannot be approved now; revision {approved} is the "
            "approved one."
        ),
        do="Approve a newer revision.",
    ),
    "ledger-back-but-lost": Wording(
        what=(
            "The copy is back, but a copy of {key} is still lost, so {key} is not handed out again."
        ),
        do="Replace the cores it opens, or say with pinloom ledger trust who answers for it.",
    ),
    "ledger-bad-date": Wording(
        what="{text} is no date.",
        do="Write it as 2026-03-31.",
    ),
    "ledger-blanks-agree": Wording(
        what="The count of {blank} agrees with the books: {left}.",
        do="Nothing to do.",
    ),
    "ledger-blanks-differ": Wording(
        what="{blank}: the books say {books}, {seen} were counted ({difference}).",
        do="Find out where they went; the books are now set to the count.",
    ),
    "ledger-blanks-short": Wording(
        what="The books now have {left} of {blank}.",
        do="Count them, and record what was received.",
    ),
    "ledger-combination-lost": Wording(
        what=(
            "A copy of {key} of {system} is lost, so no copy with these cuts is cut or handed out."
        ),
        do=(
            "Replace the cores it opens; if it cannot have been copied, say so with pinloom "
            "ledger trust."
        ),
    ),
    "ledger-door-is-full": Wording(
        what=(
            "{mark} was pinned for {door} and put at no place, because other cylinders are "
            "recorded there."
        ),
        do="Say with pinloom ledger place where it is, and what it replaces.",
    ),
    "ledger-door-taken": Wording(
        what="{door} holds {marks} already.",
        do="Name the one it replaces and where that goes.",
    ),
    "ledger-due-past": Wording(
        what="The key would be due on {due}, and today is {today}.",
        do="Give a later date.",
    ),
    "ledger-entered-before": Wording(
        what="Revision {revision} of {system} is in the ledger already, exactly so.",
        do="Nothing to do.",
    ),
    "ledger-inventory-agrees": Wording(
        what="Everything in {system} is where the books have it ({things} things seen).",
        do="Nothing to do until the next count.",
    ),
    "ledger-inventory-differs": Wording(
        what="The count of {system} differs from the books in {differences} places.",
        do="Go through the list, and record what is lost, found, returned or moved.",
    ),
    "ledger-is-out": Wording(
        what="{stamp} is out, with {holder} since {since}.",
        do="Take it back first, or issue another copy.",
    ),
    "ledger-issue-closed": Wording(
        what="The issue {receipt} is over.",
        do="Only an issue that is open can be declared void.",
    ),
    "ledger-key-reserved": Wording(
        what="{key} is reserved: it opens nothing yet.",
        do="Cut it ahead if that is meant.",
    ),
    "ledger-key-retired": Wording(
        what="{key} is retired and is not cut again.",
        do="Use the key that replaced it.",
    ),
    "ledger-known-already": Wording(
        what="There is a {what} named {name} already.",
        do="Use it, or take another name.",
    ),
    "ledger-lost-opens": Wording(
        what="{stamp} is lost. Doors that {key} opens by the latest revision: {doors}.",
        do="Replace their cores at once, or plan it with pinloom lost.",
    ),
    "ledger-may-not-order": Wording(
        what=(
            "{person} is no authorised signatory of {site} and cannot order on the restricted "
            "blank {blank}."
        ),
        do=(
            "Get the order from a signatory, or record the written authority with pinloom ledger "
            "signatory."
        ),
    ),
    "ledger-name-shows-cuts": Wording(
        what="The name of key number {number} of the chart shows the key's own cuts.",
        do="Rename it in the chart.",
    ),
    "ledger-name-unusable": Wording(
        what="A name cannot be used: {name}.",
        do="Use letters, digits and single blanks; no leading #, and no / in the name of a site.",
    ),
    "ledger-namesake": Wording(
        what="{name} is known already ({numbers}).",
        do="Use that person, or add another of the same name with the option for namesakes.",
    ),
    "ledger-needs-order": Wording(
        what="{blank} is restricted, and no order is named.",
        do="Record the order with pinloom ledger order, and cut on its number.",
    ),
    "ledger-new-blank": Wording(
        what="{blank} is new in the stock, as an unrestricted blank.",
        do="If it is restricted, say so with pinloom ledger blank.",
    ),
    "ledger-new-person": Wording(
        what="{name} is now number #{number}.",
        do="Use the number to tell namesakes apart.",
    ),
    "ledger-no-authority": Wording(
        what="Who decided, or on what written authority, is missing.",
        do="Name the person and the letter, order or form.",
    ),
    "ledger-no-reason": Wording(
        what="Why is missing.",
        do="Give the reason with --why.",
    ),
    "ledger-no-revision": Wording(
        what="{system} has no revision {revision}.",
        do="See pinloom ledger system for those it has.",
    ),
    "ledger-no-signatory": Wording(
        what="{person} is no signatory of {site}.",
        do="Check the name and the site.",
    ),
    "ledger-no-signature": Wording(
        what="No signature is given.",
        do="Say where the signed paper is, for the issuer, the receiver or both.",
    ),
    "ledger-no-such-field": Wording(
        what="There is no field {field} to correct.",
        do="Use one of: {known}.",
    ),
    "ledger-not-a-count": Wording(
        what="{pieces} is no number of pieces.",
        do="Give a whole number, from 1 where something is added.",
    ),
    "ledger-not-approved": Wording(
        what="No revision of {system} that is approved has this (its latest is {revision}).",
        do="Have it approved: pinloom ledger approve.",
    ),
    "ledger-not-at-hand": Wording(
        what="{stamp} is {state}.",
        do="Take another copy.",
    ),
    "ledger-not-lost": Wording(
        what="{stamp} is not lost, it is {state}.",
        do="Check the stamp.",
    ),
    "ledger-not-out": Wording(
        what="{stamp} is not out, it is {state}.",
        do="Check the stamp.",
    ),
    "ledger-not-proved": Wording(
        what="Revision {revision} of {system} is recorded without proof.",
        do="It cannot be approved; mend the job and bring in the next revision.",
    ),
    "ledger-old-cuts": Wording(
        what="{stamp} has older cuts than {key} has now.",
        do="Destroy it, and cut a new copy.",
    ),
    "ledger-one-place": Wording(
        what="A cylinder is at a door or at a place: give one of the two.",
        do="Name the door, or the place where it is kept.",
    ),
    "ledger-order-filled": Wording(
        what="Order {number} has {left} copies left.",
        do="Cut no more than that, or record another order.",
    ),
    "ledger-other-blank": Wording(
        what="The order is on {ordered}, not on {blank}.",
        do="Cut on the blank that was ordered.",
    ),
    "ledger-over-limit": Wording(
        what=(
            "The limit of copies of {key} is {limit}; there are {exist}, and {more} more were "
            "asked for."
        ),
        do="Return or destroy copies, or raise the limit in the next revision.",
    ),
    "ledger-pinned-for-another": Wording(
        what="{mark} is now at {door}, but holds the pins of {pinned_for}.",
        do="Pin it for its door, or put it where it belongs.",
    ),
    "ledger-reason-shows-cuts": Wording(
        what=(
            "The reason reads as the cuts of a key, and reasons are readable without the "
            "passphrase."
        ),
        do="Leave the cuts out; if it is something else, repeat the command with --as-written.",
    ),
    "ledger-revision-not-newer": Wording(
        what="Revision {revision} of {system} is not newer than revision {latest}.",
        do="Grow the job, which counts the revision up, and bring that in.",
    ),
    "ledger-stamp-shows-cuts": Wording(
        what="Stamp number {number} reads as the cuts of a key.",
        do="Stamp a symbol and a copy number, or put a letter in front.",
    ),
    "ledger-stamp-taken": Wording(
        what="The stamp {stamp} is taken in this system.",
        do="Use another one.",
    ),
    "ledger-stamps-missing": Wording(
        what="{copies} copies need as many stamps; {stamps} were given, or one is empty.",
        do="Give one stamp a copy, or none for the usual ones.",
    ),
    "ledger-still-lost": Wording(
        what="{key} stays marked as lost.",
        do="If nobody can have copied it, say so with pinloom ledger trust.",
    ),
    "ledger-unknown": Wording(
        what="There is no {what} {name}{where}.",
        do="Look for it with pinloom ledger find.",
    ),
    "ledger-unproved": Wording(
        what="Revision {revision} of {system} is not proved and cannot be approved.",
        do="Mend the job, prove it, and bring in the next revision.",
    ),
    "ledger-unsigned": Wording(
        what="The issue is recorded without both signatures.",
        do=(
            "Have the receipt {receipt} signed, and note with pinloom ledger sign where it is kept."
        ),
    ),
}

WORDINGS = _COUNTER | _ledger_keeping.WORDINGS | _ledger_lists.WORDINGS
