"""Wording of the ledger's findings about a shop's lists."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "ledger-list-cell-empty": Wording(
        what="The cell {column} is empty.",
        do="Fill it.",
    ),
    "ledger-list-column-missing": Wording(
        what="The list {kind} has no column {column}.",
        do="Add it; the guide shows the columns of each list.",
    ),
    "ledger-list-column-twice": Wording(
        what="The column {column} is there twice.",
        do="Remove or rename one of them.",
    ),
    "ledger-list-column-unknown": Wording(
        what="The list {kind} has no such column, so it is left out.",
        do=(
            "Remove it, or see the guide for the columns there are; cuts come in with a job "
            "folder only."
        ),
    ),
    "ledger-list-empty": Wording(
        what="There is nothing in the files.",
        do="Give a file with at least one list.",
    ),
    "ledger-list-formula": Wording(
        what="The cell holds a formula.",
        do="Put the value there instead.",
    ),
    "ledger-list-holder-of-in": Wording(
        what="The key is in, and yet has a holder.",
        do="Say that it is out, or leave the holder empty.",
    ),
    "ledger-list-no-holder": Wording(
        what="The key is out, and nobody has it.",
        do="Name the holder.",
    ),
    "ledger-list-not-a-state": Wording(
        what="{text} is no state of a key.",
        do="Use one of: {known}.",
    ),
    "ledger-list-not-a-thing": Wording(
        what="{text} is neither key nor cylinder.",
        do="Write key or cylinder.",
    ),
    "ledger-list-not-yes": Wording(
        what="{text} is neither yes nor no.",
        do="Write yes or no.",
    ),
    "ledger-list-read": Wording(
        what="The list {kind} has {rows} rows.",
        do="Nothing to do.",
    ),
    "ledger-list-row-long": Wording(
        what="The row has more cells than the list has columns.",
        do="Remove what stands beyond the last head, or give it a head.",
    ),
    "ledger-list-row-twice": Wording(
        what="{name} is in the list twice.",
        do="Keep one of the rows.",
    ),
    "ledger-list-unknown": Wording(
        what="No list goes by this name.",
        do="Name the file or sheet as one of: {known}.",
    ),
    "ledger-list-unreadable": Wording(
        what="The file cannot be read: {reason}.",
        do="Save it as CSV in UTF-8, or as XLSX.",
    ),
}
