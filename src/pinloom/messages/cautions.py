"""The cautions that every report repeats; docs/guide/cautions.md has them in full."""

AUTHORISED = "Authorised work only: have the owner's written order first."
KEPT_CLOSED = (
    "Cuts are worth as much as the keys: keep this list, the folder and every copy closed away."
)
EGRESS = (
    "Egress and fire doors: people inside leave without a key. The chart says who may come in, "
    "never who may get out."
)
NOMINAL = (
    '"Proved" means nominal geometry. Try every cylinder by hand, with its own keys and with some '
    "that must not work."
)
WHO_DECIDES = "Local codes, the authority having jurisdiction and licensed practice decide."

BEFORE_THE_WORK = (AUTHORISED, KEPT_CLOSED, EGRESS, NOMINAL, WHO_DECIDES)
