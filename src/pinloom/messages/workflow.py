"""Wording of the findings of the workflow: job folders, tables of cuts and pins, joined inputs."""

from pinloom.messages._wording import Wording

_WHOLE = "Take the folder from a copy, or make the job again; do not pin from it."

WORDINGS: dict[str, Wording] = {
    # job folders
    "folder-not-a-job": Wording(
        what="There is no job here.",
        do="Give a folder that design, pin or grow has written.",
    ),
    "folder-not-ours": Wording(
        what="The folder holds other things and no job of this program.",
        do="Name a new or an empty folder; nothing in this one was touched.",
    ),
    "folder-unreadable": Wording(
        what="The folder cannot be read: {reason}.",
        do="Check the path and who owns it; job folders are readable by their owner alone.",
    ),
    "folder-unwritable": Wording(
        what="The job cannot be written here: {reason}. What stood here before still counts.",
        do="Make room, or name another folder.",
    ),
    "folder-passphrase-short": Wording(
        what="The passphrase is too short to seal a job with.",
        do="Use at least {least} signs; several words are easiest to keep.",
    ),
    "folder-sealed": Wording(
        what="The job in this folder is sealed.",
        do="Give its passphrase with --passphrase.",
    ),
    "folder-wrong-passphrase": Wording(
        what="The passphrase does not open the sealed job.",
        do="Check capitals and keyboard. Without the passphrase nobody can open it.",
    ),
    "folder-seal-damaged": Wording(
        what="The sealed file is damaged or was altered; the passphrase is right.",
        do=_WHOLE,
    ),
    "folder-file-missing": Wording(
        what="The job has lost its file {file}.",
        do=_WHOLE,
    ),
    "edit-name": Wording(
        what="That is no name for a {what}: empty, too long, or with signs that cannot be seen.",
        do="Give it another name.",
    ),
    "edit-stale": Wording(
        what="The chart was changed in another window after you looked.",
        do="This is the chart as it is now.",
    ),
    "edit-taken": Wording(
        what="There is a {what} called {name} already.",
        do="Give it another name.",
    ),
    "edit-unknown": Wording(
        what="There is no {what} called {name} any more.",
        do="Look at the chart as it is now.",
    ),
    "edit-unreadable": Wording(
        what="The edited chart cannot be read: {reason}.",
        do="Remove that file to begin again from the job's own chart.",
    ),
    "edit-unwritable": Wording(
        what="The edit could not be written: {reason}.",
        do="Make room, or make the folder writable, then do it again.",
    ),
    "folder-file-altered": Wording(
        what="{file} does not say what job.json says; the place is where they first part.",
        do="To use changed cuts or pins give the table to pin; otherwise take the folder from a "
        "copy.",
    ),
    "folder-open": Wording(
        what="Other users of this machine can look into the job folder.",
        do="Close it: chmod 700 FOLDER.",
    ),
    "job-damaged": Wording(
        what="job.json is not a whole record of a job.",
        do=_WHOLE,
    ),
    "found-count": Wording(
        what="{count} chambers are told, and a cylinder of {format} has {chambers}.",
        do="Give one word a chamber, in the order in which the format is read; ? where nobody "
        "looked.",
    ),
    "found-door-unknown": Wording(
        what="The job has no door {door}.",
        do="Name the door as the chart does, or leave it out to ask which door it is.",
    ),
    "found-door-untold": Wording(
        what="The table has no row for door {door}.",
        do="Give the pins of that door, or leave the door out to compare all of the table.",
    ),
    "found-needs-driver": Wording(
        what="Chamber {chamber} has one length only.",
        do="Give every pin of the chamber bottom-up, the driver last, joined by +.",
    ),
    "found-no-lengths": Wording(
        what="Format {format} gives no lengths of bottom pins, so measured pins cannot be read.",
        do="Give the pins by their numbers, without --measured.",
    ),
    "found-nothing": Wording(
        what="Of no chamber of {name} the pins are known.",
        do="Give the pins of one chamber at least.",
    ),
    "found-unreadable": Wording(
        what="The pins of chamber {chamber} cannot be read.",
        do="Write the depth number of the bottom pin, then master pins in steps: 3+2; - without "
        "pins, ? where nobody looked.",
    ),
    "job-altered": Wording(
        what="job.json is not as it was written: its fingerprints do not fit it.",
        do=_WHOLE,
    ),
    "job-newer": Wording(
        what="The job was written by a later version (record {schema}; this one reads up to "
        "{known}).",
        do="Install the later version.",
    ),
    "job-other-verdict": Wording(
        what="Proving the job again gives another verdict than the one on record.",
        do="Give chart and cuts to pin for a new proof, and trust neither verdict until then.",
    ),
    "job-replaced": Wording(
        what="Revision {revision} in this folder had other cuts or pins. It is kept as "
        "earlier/revision-{revision}.json.",
        do="If its keys were cut or its cylinders pinned, do not use this revision for them: grow "
        "that job instead.",
    ),
    # joined inputs
    "job-format-clash": Wording(
        what="Door {door} names a second, different format that is also called {name}.",
        do="Give each format file a name of its own.",
    ),
    "job-foreign-hardware": Wording(
        what="Keys of {keys} do not fit the {cylinder} cylinder of door {door}: their cuts lie at "
        "other places or other depths.",
        do="Order the cylinder in the family of the keys, or name another format for the job.",
    ),
    "job-given-cuts": Wording(
        what="The cuts given for {key} do not fit {format}: it wants {chambers} cuts of depths "
        "{depths}, or ? where a cut is free.",
        do="Correct the cuts, in the format's reading order.",
    ),
    "job-control-without-core": Wording(
        what="Control cuts are given, but {format} is no interchangeable core.",
        do="Leave them out, or name the core's format.",
    ),
    "job-control-twice": Wording(
        what="The {key} is given twice.",
        do="Give it once; several core groups are told apart as GROUP:CUTS.",
    ),
    "job-avoid-other-hardware": Wording(
        what="The system {name} is cut for {theirs}, whose keys do not enter {ours}; nothing of it "
        "has to be avoided.",
        do="Nothing, if that is the system you meant.",
    ),
    "door-not-in-chart": Wording(
        what="There is no door {door} in the chart; another pinning chart is shown.",
        do="Write the name as in the chart.",
    ),
    "seal-by-passphrase": Wording(
        what="A passphrase was given without --seal: the job folder is sealed with it.",
        do="Keep the passphrase; without it nobody opens the folder. Leave it out for an open one.",
    ),
    "secret-not-read": Wording(
        what="The {secret} could not be read: {reason}.",
        do="Give @FILE with a readable text file, or - to type it on standard input.",
    ),
    "secret-in-history": Wording(
        what="The {secret} stands on the command line, where the shell keeps it.",
        do="Next time give @FILE, or - to type it on standard input.",
    ),
    # tables of cuts
    "cuts-column-missing": Wording(
        what="The table has no column {head}.",
        do="Give key and either c1, c2, ... or stamped, as the guide to job folders shows.",
    ),
    "cuts-column-unknown": Wording(
        what="The column {head} is none of this table; it was not read.",
        do="Nothing, if it is a remark.",
    ),
    "cuts-too-many": Wording(
        what="There are more columns of cuts than {format} has chambers ({chambers}).",
        do="Check the format; leave out columns that it does not have.",
    ),
    "cuts-no-key": Wording(
        what="The row has cuts but no key.",
        do="Name the key, or delete the row.",
    ),
    "cuts-key-twice": Wording(
        what="Key {key} has a second row.",
        do="Keep the row that is right.",
    ),
    "cuts-key-unknown": Wording(
        what="Key {key} is not in the chart.",
        do="Add it to the chart (reserved, if it shall open nothing), or delete the row.",
    ),
    "cuts-key-missing": Wording(
        what="Key {key} of the chart has no row in the table of cuts.",
        do="Add its cuts, or use design to choose them.",
    ),
    "cuts-not-as-given": Wording(
        what="The cuts of {key} differ from those given elsewhere for this job.",
        do="Find out which are right, and give them once.",
    ),
    "cuts-none": Wording(
        what="Key {key} has no cuts.",
        do="Fill in its columns.",
    ),
    "cuts-no-such-depth": Wording(
        what="This is no depth number of {format} ({depths}).",
        do="Give depth numbers as the format counts them; a stamped 0 may mean 10.",
    ),
    "cuts-stamp-unreadable": Wording(
        what="The stamped text of key {key} cannot be read as cuts of this format.",
        do="Write the stamped signs in reading order, with blanks where one has two signs.",
    ),
    "cuts-stamp-differs": Wording(
        what="Key {key}: the stamped text and the numbered cuts differ.",
        do="Read the key again and correct the wrong one.",
    ),
    "cuts-macs": Wording(
        what="Key {key} has neighbouring cuts more than {macs} steps apart, beyond the format's "
        "MACS. It is taken as it is.",
        do="Gauge the key: such a cut eats into its neighbour.",
    ),
    "cuts-control-open": Wording(
        what="The cuts of {key} are not whole.",
        do="Existing cores need every cut of their control key: complete it, or let pinloom pin "
        "--mend read it off the pins of its cores.",
    ),
    "cuts-open": Wording(
        what="Not every cut of key {key} is known.",
        do="Read the key and complete the row, or let pinloom pin --mend find the least that "
        "completes it.",
    ),
    # what is incomplete and to be mended
    "mend-read-off": Wording(
        what="{cuts} cuts of key {key} were not told; the pins of its doors leave one depth for "
        "each, which is taken.",
        do="Check it against a key in hand before anything is pinned.",
    ),
    "mend-control-read": Wording(
        what="{cuts} cuts of {key} were not told; the build-up pins of its cores leave one depth "
        "for each, which is taken.",
        do="Try the control key in a core at the bench before anything is pinned.",
    ),
    "mend-control-open": Wording(
        what="Cuts {cuts} of {key} are not known, and the pins of its cores do not tell them.",
        do="Write them, or give with --pinning the pins of one core of its group, build-up "
        "included: they tell the cuts.",
    ),
    "mend-key-open": Wording(
        what="{cuts} cuts of key {key} are not known, and the pins of its doors do not tell them. "
        "What this key opens is not proved.",
        do="Read a copy and complete the row, or cut the key anew as planned and call old copies "
        "in.",
    ),
    "mend-key-missing": Wording(
        what="Key {key} has no row, and the pins of its doors do not tell its cuts: it is taken as "
        "not cut yet.",
        do="If it exists, read a copy and add the row; what it opens is not proved.",
    ),
    "mend-chambers-open": Wording(
        what="Chambers {chambers} of door {door} are not known.",
        do="Read the cylinder; until then it counts as one to set up anew.",
    ),
    "mend-doors-open": Wording(
        what="The table of pins says nothing of {doors} doors; the first is {door}.",
        do="Read their cylinders; until then they count as ones to set up anew.",
    ),
    # tables of pins
    "pins-door-unknown": Wording(
        what="Door {door} is not in the chart.",
        do="Write the name as in the chart, or add the door there.",
    ),
    "pins-no-such-chamber": Wording(
        what="This is no chamber of door {door}, which has 1 to {chambers}.",
        do="Count from 1 in the format's reading order.",
    ),
    "pins-chamber-twice": Wording(
        what="Chamber {chamber} of door {door} has a second row.",
        do="Keep the row that is right.",
    ),
    "pins-no-such-bottom": Wording(
        what="This is no bottom pin of {format}, which has numbers {depths}.",
        do="Measure the pin; leave all four cells empty only for a chamber without pins.",
    ),
    "pins-bad-steps": Wording(
        what="These are no pin sizes in steps.",
        do="Write whole numbers above zero, bottom-up, with blanks between them.",
    ),
    "pins-doors-computed": Wording(
        what="{doors} doors have no row in the table of pins, {door} first; they were pinned for "
        "the keys of the chart.",
        do="Nothing, if they are to be pinned anew.",
    ),
    "pins-chambers-computed": Wording(
        what="Door {door}: no pins are given for chamber {chambers}; what the chart asks for was "
        "taken.",
        do="Decode the whole cylinder before you trust the verdict.",
    ),
    # pins on hand
    "kit-column-missing": Wording(
        what="The kit has no column {head}.",
        do="Give the columns part, size and count; the guide on pinning shows a kit.",
    ),
    "kit-part-unknown": Wording(
        what="{part} is no part of a kit.",
        do="Write bottom, master, build-up, driver, top, security driver or spring.",
    ),
    "kit-size-unknown": Wording(
        what="{format} has no {part} of size {size}; the row was left out.",
        do="Nothing, if the box serves other hardware too; otherwise write the size as the format "
        "calls it, or its length with in or mm.",
    ),
    "kit-bad-count": Wording(
        what="{count} is no count.",
        do="Write a whole number; leave the cell empty where there are plenty.",
    ),
    "kit-size-twice": Wording(
        what="{part} {size} stands in the kit twice.",
        do="Add the counts up in one row.",
    ),
    "kit-kinds-absent": Wording(
        what="The kit does not speak of: {parts}. They are not counted.",
        do="Nothing, if they are kept elsewhere; otherwise add rows for them.",
    ),
    # bench and construction keys
    "bench-not-proved": Wording(
        what="The job in this folder is not proved.",
        do="Mend its faults first: nothing is cut or pinned from a job that is not proved.",
    ),
    "bench-unrecorded": Wording(
        what="The check-off could not be written: {reason}.",
        do="Nothing was checked off. Make room, or make the folder writable, then do it again.",
    ),
    "bench-unwritable": Wording(
        what="The tables cannot be written here: {reason}.",
        do="Make room, or name another folder.",
    ),
    "construction-key-known": Wording(
        what="The job has a key {key} already.",
        do="Name the temporary key otherwise with --key.",
    ),
    "construction-key-unknown": Wording(
        what="The job has no key {key}.",
        do="Name a key as the chart does.",
    ),
    "construction-door-unknown": Wording(
        what="The job has no door {door}.",
        do="Name doors as the chart does.",
    ),
}
