"""Wording of the findings of the draft stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    # the file
    "draft-file-missing": Wording(
        what="There is no such file.",
        do="Check the path.",
    ),
    "draft-file-unreadable": Wording(
        what="The file cannot be read: {reason}.",
        do="Check that it may be read and is not in use.",
    ),
    "draft-too-large": Wording(
        what="The file, or what it unpacks to, is larger than {megabytes} MB.",
        do="Keep only the sheets Facility, Floor, Space, Zone, Type and Component.",
    ),
    "draft-not-a-workbook": Wording(
        what="This is not an XLSX workbook.",
        do="Give a COBie workbook (.xlsx) or an IFC model (.ifc).",
    ),
    "draft-workbook-damaged": Wording(
        what="This is not a sound XLSX workbook: damaged, locked with a password, or another kind "
        "of file.",
        do="Open it in a spreadsheet and save it anew as .xlsx, without a password.",
    ),
    "draft-ifc-extra": Wording(
        what="Reading IFC needs an extra that is not installed.",
        do="Install the package with its extra ifc, or export the building as COBie.",
    ),
    "draft-ifc-damaged": Wording(
        what="The model cannot be read.",
        do="Export it anew as IFC 2x3 or IFC 4.",
    ),
    # sheets and columns
    "draft-sheet-missing": Wording(
        what="There is no sheet {sheet}.",
        do="Export the workbook with this sheet, or do without what it says.",
    ),
    "draft-sheet-empty": Wording(
        what="The sheet {sheet} has no entries.",
        do="Export the workbook with its entries, or do without what it says.",
    ),
    "draft-column-missing": Wording(
        what="There is no column {column}.",
        do="Export the workbook with this column, or do without what it says.",
    ),
    "draft-column-twice": Wording(
        what="There are two columns {column}; the first was read.",
        do="Delete the wrong one.",
    ),
    "draft-formula": Wording(
        what="The cell holds a formula, which is not read.",
        do="Replace it by its value, as text.",
    ),
    "draft-error-value": Wording(
        what="The cell holds an error value.",
        do="Replace it by what was meant.",
    ),
    "draft-date": Wording(
        what="The cell holds a date or time where a text belongs.",
        do="Format the cell as text and type the text again.",
    ),
    "draft-more": Wording(
        what="{count} more findings of the kind {kind} are not listed.",
        do="Mend the ones that are listed and read the file again.",
    ),
    # names and references
    "draft-name-missing": Wording(
        what="The row has no name and was left out.",
        do="Name it.",
    ),
    "draft-name-blanks": Wording(
        what="The name {name} has blanks before, after or doubled within; they were dropped.",
        do="Tidy it in the building's records.",
    ),
    "draft-name-sign": Wording(
        what="The name {name} holds signs that cannot be seen; they were dropped.",
        do="Type the name anew in the building's records.",
    ),
    "draft-name-twice": Wording(
        what="The {kind} {name} is there twice; the first was taken.",
        do="Give each a name of its own.",
    ),
    "draft-names-alike": Wording(
        what="{name} and {other} differ only in case; they were taken as two.",
        do="Write both alike if one is meant.",
    ),
    "draft-reference-blanks": Wording(
        what="The reference {text} has blanks before or after names; they were dropped.",
        do="Tidy it in the building's records.",
    ),
    "draft-reference-case": Wording(
        what="{text} was taken for {name}, from which it differs only in case.",
        do="Write it as the name is.",
    ),
    "draft-reference-unknown": Wording(
        what="There is no {kind} {text}.",
        do="Correct the reference, or add the {kind}.",
    ),
    "draft-identifier-twice": Wording(
        what="The identifier {text} belongs to two doors.",
        do="Export the model anew; a facility system would take the two for one.",
    ),
    # building, rooms, departments
    "draft-facility-several": Wording(
        what="The workbook describes {count} facilities; it was taken for {name} alone.",
        do="Export one workbook for each facility.",
    ),
    "draft-height": Wording(
        what="The height {text} of the floor is not a number.",
        do="Write the elevation as a number.",
    ),
    "draft-floor-unknown": Wording(
        what="The room {room} is on {floor}, which is not a floor of the sheet Floor.",
        do="Correct the name of the floor, or add the floor.",
    ),
    "draft-room-floor": Wording(
        what="The room {room} names no floor.",
        do="Name its floor; the draft cannot give it to a floor master.",
    ),
    "draft-room-category": Wording(
        what="The room {room} has no category.",
        do="Nothing, if its title says what it is.",
    ),
    "draft-room-comma": Wording(
        what="The room {room} has a comma in its name, which also separates rooms in references.",
        do="Rename it; references to it may be read wrongly.",
    ),
    "draft-room-zones": Wording(
        what="The room {room} belongs to several departments: {zones}.",
        do="Say whose master opens it; the draft asks.",
    ),
    "draft-rooms-without-zone": Wording(
        what="Rooms of no department ({count}): {rooms}.",
        do="Nothing to do for roofs and the like; otherwise add them to the sheet Zone.",
    ),
    "draft-rooms-without-door": Wording(
        what="Rooms without a door in the records ({count}): {rooms}.",
        do="Nothing to do for open areas; otherwise the doors are missing.",
    ),
    "draft-zone-case": Wording(
        what="The department {name} was taken for {other}, from which it differs only in case.",
        do="Write both alike.",
    ),
    "draft-zone-empty": Wording(
        what="The row of the department {zone} names no room.",
        do="Name its room, or delete the row.",
    ),
    "draft-zone-twice": Wording(
        what="The department {zone} lists the room {room} twice.",
        do="Delete one of the two rows.",
    ),
    # doors
    "draft-no-doors": Wording(
        what="There is no door among the components.",
        do="Check that doors were exported; they are known by ExtObject or by the category of "
        "their type.",
    ),
    "draft-door-category": Wording(
        what="Components of the type {type} are doors by their class, but the type's category is "
        '"{category}"; they were taken as doors.',
        do="Correct the category of the type.",
    ),
    "draft-door-class": Wording(
        what="{door} is a door by the category of its type, but its class is {text}; it was taken "
        "as a door.",
        do="Correct the class, or the category of the type.",
    ),
    "draft-door-twice": Wording(
        what="{door} is there twice; this one is called {fresh}.",
        do="Give each door a name of its own in the building's records.",
    ),
    "draft-door-type": Wording(
        what="{door} names no type.",
        do="Name its type; exterior doors and partitions are known by it.",
    ),
    "draft-door-nowhere": Wording(
        what="{door} names no room.",
        do="Name the rooms on its two sides; the draft leaves it out.",
    ),
    "draft-door-sides": Wording(
        what="{door} names {count} rooms; the first two were taken, not {rest}.",
        do="Correct its rooms.",
    ),
    "draft-door-one-room": Wording(
        what="{door} has {room} on both sides.",
        do="Nothing to do for a partition; otherwise correct its rooms.",
    ),
    "draft-door-floors": Wording(
        what="{door} joins {rooms} on different floors, {floors}.",
        do="Correct the room that is wrong.",
    ),
    "draft-door-misnamed": Wording(
        what="{door} is named after the room {room}, but joins {sides}.",
        do="Check which is right; keys are handed out by door names.",
    ),
    "draft-ifc-outside": Wording(
        what="{door} bounds an outside space; that side was taken as not told.",
        do="Nothing; the draft asks where the door leads unless its properties say exterior.",
    ),
    # the draft and what is given back
    "draft-out-kind": Wording(
        what="The file to write does not end in .xlsx.",
        do="Name a workbook, such as chart.xlsx.",
    ),
    "draft-out-there": Wording(
        what="The file is there already and may hold somebody's edits; it was not touched.",
        do="Name another file, or give --replace.",
    ),
    "draft-out-unwritable": Wording(
        what="The file cannot be written: {reason}.",
        do="Check the folder, and that the file is not open elsewhere.",
    ),
    "draft-service-same": Wording(
        what="The service key {key} would open the same doors as {other}; it was not proposed.",
        do="Give {other} to that service.",
    ),
    "draft-nothing-to-key": Wording(
        what="No door of the building takes a cylinder by the rules of the draft.",
        do="Look through the reasons in the sheet no cylinder.",
    ),
    "draft-give-back-unproved": Wording(
        what="The job {job} is not proved (faults: {faults}), so nothing was given back.",
        do="Mend the job first.",
    ),
    "draft-give-back-unknown": Wording(
        what="Cylinders that belong to no door of the building ({count}): {doors}.",
        do="Name the cylinder or its opening like the building's door.",
    ),
}
