"""Wording of the findings of the growth stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "growth-recut-unknown": Wording(
        what="--may-recut names {key}, and the job has no such key.",
        do="Name keys as the job's bitting list does, or * for all of them.",
    ),
    "lost-no-such-plan": Wording(
        what="There is no plan {number}; plans found: {plans}.",
        do="Run without --out first and choose one of the plans shown.",
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
