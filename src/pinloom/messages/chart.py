"""Wording of the findings of the chart stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    # the file itself
    "chart-file-missing": Wording(
        what="There is no such file.",
        do="Check the path.",
    ),
    "chart-file-unreadable": Wording(
        what="The file cannot be read: {reason}.",
        do="Check that it may be read and is not in use.",
    ),
    "chart-too-large": Wording(
        what="The file is larger than {megabytes} MB, far beyond any chart.",
        do="Give the chart alone; delete sheets and pictures that are not part of it.",
    ),
    "chart-old-workbook": Wording(
        what="This is a workbook of the old binary kind (.xls).",
        do="Save it as .xlsx or as CSV in UTF-8.",
    ),
    "chart-workbook-damaged": Wording(
        what="This is not a sound XLSX workbook: damaged, locked with a password, or another "
        "kind of file.",
        do="Open it in a spreadsheet and save it anew as .xlsx, without a password.",
    ),
    "chart-not-text": Wording(
        what="This is neither a workbook nor a text file.",
        do="Give a CSV file in UTF-8 or an .xlsx workbook.",
    ),
    "chart-encoding": Wording(
        what="The text is not UTF-8; it looks like {encoding}.",
        do='Save it again as "CSV UTF-8", so that names with accents stay what they are.',
    ),
    "chart-csv-quoting": Wording(
        what="A quotation mark in this row is not closed or stands in the wrong place; the rows "
        "after it were not read.",
        do="Close the quotation mark; a mark inside a quoted cell is written twice.",
    ),
    "chart-separator": Wording(
        what="The columns are separated by {separator}, not by commas; they were read that way.",
        do="Nothing, if the columns came out right.",
    ),
    "chart-sheet-missing": Wording(
        what="The file has no sheet named {sheet}; it has: {sheets}.",
        do="Name one of those.",
    ),
    "chart-empty": Wording(
        what="The sheet is empty.",
        do="Put the heads in the first row and the entries below.",
    ),
    "chart-no-rows": Wording(
        what="There are heads but no rows under them.",
        do="Add one row for each entry.",
    ),
    "chart-keys-missing": Wording(
        what="The column keys makes this a schedule, but there is no table of keys.",
        do="Give the keys with --keys, or as a sheet named keys; or use --symbols when the "
        "symbols follow the standard key coding.",
    ),
    # sheets as spreadsheets have them
    "chart-hidden-sheet": Wording(
        what="The sheet is hidden; it was read.",
        do="Unhide it and look through it.",
    ),
    "chart-hidden-rows": Wording(
        what="Hidden rows were read: {rows}.",
        do="Delete them if they are not meant.",
    ),
    "chart-hidden-columns": Wording(
        what="Hidden columns were read: {columns}.",
        do="Delete them if they are not meant.",
    ),
    "chart-merged": Wording(
        what="The merged cells {range} were read as if each held the text of the first.",
        do="Nothing, if that is meant; otherwise unmerge them.",
    ),
    "chart-formula": Wording(
        what="The cell begins with an equals sign ({text}); formulas are not read.",
        do="Replace it by its value, as text.",
    ),
    "chart-error-value": Wording(
        what="The cell holds the error value {text}.",
        do="Replace it by what was meant.",
    ),
    "chart-date": Wording(
        what="The cell holds a date or time ({text}); the spreadsheet has probably turned a name "
        "such as 1-2 into one.",
        do="Format the cell as text and type the name again.",
    ),
    # heads and rows
    "chart-column-missing": Wording(
        what="There is no column {head}.",
        do="Name the column in the first row; heads are listed in the guide to charts.",
    ),
    "chart-column-twice": Wording(
        what="Two columns have the head {head}.",
        do="Rename or delete one; for a key, join the two columns.",
    ),
    "chart-column-unnamed": Wording(
        what='The column has entries ("{text}") but no head.',
        do="Give it a head, or put the head in round brackets for a column of remarks.",
    ),
    "chart-column-unknown": Wording(
        what="The column {head} is not known and was not read.",
        do="Put its head in round brackets when it holds remarks, or delete it.",
    ),
    "chart-column-misspelt": Wording(
        what="The column {head} is not known; it looks like {near}.",
        do="Write {near}, or put the head in round brackets when it holds remarks.",
    ),
    "chart-column-remark": Wording(
        what="The column {head} stands in round brackets and was taken as remarks.",
        do="Take the brackets away if it is a key.",
    ),
    "chart-row-long": Wording(
        what="The row has {cells} cells, but there are only {heads} heads.",
        do="Look for a comma too many, or for a text with a comma that is not in quotes.",
    ),
    "chart-row-short": Wording(
        what="{rows} row(s) have fewer than {heads} cells, this one first; the missing cells were "
        "read as blank.",
        do="Nothing, if only trailing blanks were left out.",
    ),
    "chart-number": Wording(
        what="{head} is {text}, which is not a whole number from {low} to {high}.",
        do="Write a whole number.",
    ),
    "chart-unpinned": Wording(
        what="unpinned is {text}, which is not a list of different chamber numbers from 1 to "
        "{high}.",
        do="Write chamber numbers separated by blanks, such as 5 6.",
    ),
    "chart-yes-no": Wording(
        what="reserved is {text}, which is neither yes nor no.",
        do="Write yes for a planned key that opens nothing yet, or leave the cell blank.",
    ),
    "chart-room": Wording(
        what="room is {text}, which is neither a whole number up to {most} nor a percentage up to "
        "{percent}%.",
        do="Write how many further change keys to keep room for under this master, such as 30, or "
        "30% of those it has.",
    ),
    # names
    "chart-door-unnamed": Wording(
        what="The row has entries but no door.",
        do="Name the door, or delete the row.",
    ),
    "chart-key-unnamed": Wording(
        what="The row has entries but no key.",
        do="Name the key, or delete the row.",
    ),
    "chart-door-twice": Wording(
        what="The door {name} is there twice.",
        do="Give each cylinder a name of its own; use opening to join the cylinders of one "
        "opening, and count for identical cylinders.",
    ),
    "chart-key-twice": Wording(
        what="The key {name} is there twice.",
        do="Delete one of the two rows; copies says how many are cut.",
    ),
    "chart-blank-twice": Wording(
        what="The blank {name} is there twice.",
        do="Put all its keyways in one row.",
    ),
    "chart-names-alike": Wording(
        what="{name} and {other} differ only in case or in the shape of a sign; they are taken as "
        "two.",
        do="Write both alike if one is meant.",
    ),
    "chart-name-sign": Wording(
        what="The name {name!r} holds a sign that cannot be seen ({sign}).",
        do="Type the name anew.",
    ),
    "chart-key-refused": Wording(
        what="A key may not be named {name}; a job's files keep that name for the control key of "
        "a core.",
        do="Choose another name.",
    ),
    "chart-key-nmk": Wording(
        what="A key may not be named NMK; in the column except that means all masters.",
        do="Choose another name.",
    ),
    "chart-key-like-column": Wording(
        what="The column {head} was read as a key, but looks like the column {near}.",
        do="Write {near} if that is meant.",
    ),
    "chart-key-unlisted": Wording(
        what="The column {key} is not in the table of keys.",
        do="Add the key to the table, or correct the head.",
    ),
    # who opens what
    "chart-no-keys": Wording(
        what="The matrix has no column for a key.",
        do="Add one column for each key; or, for a schedule, a column keys.",
    ),
    "chart-mark-odd": Wording(
        what='{cells} cell(s) under {key} hold "{text}" or the like; any filled cell means that '
        "the key opens the door.",
        do="Write x where the key opens, and leave the others blank.",
    ),
    "chart-door-shut": Wording(
        what="No key opens the door {door}.",
        do="Give it a key, or leave it out of the chart.",
    ),
    "chart-key-idle": Wording(
        what="The key {key} opens no door.",
        do="Give it a door, or mark it as reserved.",
    ),
    "chart-reserved-listed": Wording(
        what="The key {key} is reserved or retired, but the chart lets it open {door}.",
        do="Take it off the door, or clear the mark reserved.",
    ),
    "chart-reserved-master": Wording(
        what="The key {key} is reserved or retired and opens nothing, although {keys} key(s) "
        "stand under it.",
        do="Nothing, if that is meant.",
    ),
    "chart-key-unknown": Wording(
        what="The door {door} lists the key {key}, which the table of keys does not have.{near}",
        do="Correct the name, or add the key.",
    ),
    "chart-key-listed-twice": Wording(
        what="The door {door} lists the key {key} twice.",
        do="Nothing; the second was ignored.",
    ),
    "chart-under-unknown": Wording(
        what="The key {key} is under {master}, which the table of keys does not have.",
        do="Correct the name, or add the master; under takes one name.",
    ),
    "chart-under-circle": Wording(
        what="Keys are under each other in a circle: {circle}.",
        do="Take away the under that is wrong.",
    ),
    "chart-except-unknown": Wording(
        what="The door {door} excepts {key}, which is not a key of the chart.",
        do="Correct the name; NMK excepts all masters.",
    ),
    "chart-except-listed": Wording(
        what="The door {door} both lists and excepts {key}.",
        do="Decide which, and delete the other.",
    ),
    "chart-except-idle": Wording(
        what="The door {door} excepts {key}, which would not open it anyway.",
        do="Check the name; otherwise delete the entry.",
    ),
    "chart-nmk-marked": Wording(
        what="The door {door} is not master keyed (NMK), but keys that are masters of others on "
        "it open it: {keys}.",
        do="Clear their marks, or take NMK away.",
    ),
    "chart-keyed-alike": Wording(
        what="Keyed alike, because the same keys open them: {doors}.",
        do="Nothing, if that is meant; they get one combination and stay separate cylinders.",
    ),
    "chart-keys-same": Wording(
        what="These keys open the same doors: {keys}. Each gets cuts of its own.",
        do="Join them into one key with several copies, unless they must stay apart.",
    ),
    "chart-more-alike": Wording(
        what="{groups} more groups of {kind} are alike and are not listed.",
        do="Nothing.",
    ),
    "chart-cuts-number": Wording(
        what="The cuts {cuts} are a number cell, which loses a zero in front.",
        do="Format the column as text and check the cuts.",
    ),
    # blanks and keyways
    "chart-blank-nowhere": Wording(
        what="The blank {blank} enters no keyway.",
        do="List the keyways that it enters, separated by blanks.",
    ),
    "chart-blank-unknown": Wording(
        what="The key {key} is cut on the blank {blank}, which the table of keyways does not have.",
        do="Correct the name, or add the blank.",
    ),
    "chart-blank-outside": Wording(
        what="The key {key} shall open {doors}, but its blank {blank} does not enter their keyway.",
        do="Choose a blank that enters all of them, or correct the keyways.",
    ),
    "chart-master-unmarked": Wording(
        what="The table of keys puts {master} above keys of {doors}, but it has no mark there; "
        "the marks were taken.",
        do="Mark it, except it in the column except, or correct under.",
    ),
    # writing
    "chart-write-head": Wording(
        what="A matrix cannot hold the key {key}, because its name reads as another column.",
        do="Write a schedule, or rename the key.",
    ),
    "chart-write-list": Wording(
        what="One cell cannot list the keys of {door} ({names}) so that they are read back as "
        "the same names.",
        do="Rename keys whose names hold blanks or commas.",
    ),
    "chart-write-keys": Wording(
        what="A schedule as CSV needs a second file for its keys.",
        do="Name that file, or write a workbook (.xlsx).",
    ),
    "chart-write-lost": Wording(
        what="A matrix as a single CSV file cannot hold: {lost}.",
        do="Write the keys to a file of their own as well, or write a workbook (.xlsx).",
    ),
    # standard key symbols
    "chart-symbol-unknown": Wording(
        what="{text} is not a standard key symbol.{near}",
        do="Write it as the guide to key symbols says, or add the key to the table of keys.",
    ),
    "chart-nmk-mixed": Wording(
        what="Of the symbols in {text}, some are not master keyed (NMK) and some are.",
        do="Mark all or none; NMK speaks for the whole cylinder.",
    ),
    "chart-cross-unlisted": Wording(
        what="The cylinder {text} is cross-keyed, but nothing says which keys operate it.",
        do="List them in the column operated by.",
    ),
    "chart-cross-unmarked": Wording(
        what="{keys} also operate the cylinder {text}, whose symbol has no X for cross-keying; "
        "they were read.",
        do="Put X in front of the symbol, or clear the entry.",
    ),
    "chart-master-implied": Wording(
        what="The symbols call for a master {key}, which no row names; it was added.",
        do="Nothing, if the system has that master; otherwise give a table of keys.",
    ),
    "chart-under-symbol": Wording(
        what="The key {key} is under {written}, but its symbol puts it under {says}.",
        do="Correct one of the two, or read the schedule without --symbols.",
    ),
}
