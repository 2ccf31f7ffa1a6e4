"""Wording of the findings of the growth stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "growth-recut-unknown": Wording(
        what="--may-recut names {key}, and the job has no such key.",
        do="Name keys as the job's bitting list does, or * for all of them.",
    ),
    "growth-given-held": Wording(
        what="The chart gives key {key} cuts of a combination that {system} does not offer yet.",
        do="Ask pinloom ledger resting when it is free, or give other cuts.",
    ),
    "growth-held": Wording(
        what="By the books of {system}, combinations out of use that rest: {resting}; with copies "
        "that are not accounted for: {never}. No key got their cuts.",
        do="Nothing to do; pinloom ledger resting lists them.",
    ),
    "growth-other-format": Wording(
        what="The ledger has {system} on {theirs}, and this job is on {ours}.",
        do="Name the system that this job belongs to with --system.",
    ),
    "growth-released": Wording(
        what="Every copy of {keys} is accounted for and has rested: the job does not keep these "
        "keys in its proof any more, and their cuts can be offered again.",
        do="Destroy copies that are still in the cabinet before a key gets the same cuts.",
    ),
    "lost-no-such-plan": Wording(
        what="There is no plan {number}; plans found: {plans}.",
        do="Run without --out and --orders first and choose one of the plans shown.",
    ),
    "room-lost": Wording(
        what="Less room is kept under {key} than the design was made with.",
        do="This is a fault of the program: report it with the chart, and count on what pinloom "
        "room shows.",
    ),
    "room-not-grown": Wording(
        what="The chart asks for room for {asked} further keys under {key}, and the grown job "
        "keeps {kept}.",
        do="Growth leaves kept room alone where it can, and makes none. pinloom room tells what "
        "fits.",
    ),
    "room-twice": Wording(
        what="Room under {key} is asked for as {one} and as {other}.",
        do="Say it once, in the chart or on the command line.",
    ),
    "room-unknown": Wording(
        what="--room names {key}, and the chart has no such key.",
        do="Name a master as the chart does: --room KEY=30.",
    ),
    "room-unreadable": Wording(
        what="--room {text} does not say how much room to keep.",
        do="Write KEY=30 or KEY=30% for one master, 30 or 30% for every group of change keys, 0 "
        "for none.",
    ),
    "room-no-master": Wording(
        what="Room is asked for under key {key}, which is no master in use.",
        do="Ask for it under the master of the group, or leave it out.",
    ),
    "lost-order-not-proved": Wording(
        what='The plan "{plan}" is not proved, so no work order is made of it.',
        do="Take a plan that says every state is proved; mend the job first where it is not.",
    ),
    "room-key-unknown": Wording(
        what="The job has no key {key}.",
        do="Name the master as the job's bitting list does.",
    ),
    "lost-key-unknown": Wording(
        what="The job has no key {key}.",
        do="Name the key as the job's bitting list does.",
    ),
    "lost-key-retired": Wording(
        what="Key {key} is retired in this job: it opens no door, so there is nothing to shut it "
        "out of.",
        do="Write its copies off in the ledger; name the key that the job has in use now, if "
        "another is meant.",
    ),
    "lost-door-unknown": Wording(
        what="The job has no door {door}.",
        do="Name the door as the chart does.",
    ),
}
