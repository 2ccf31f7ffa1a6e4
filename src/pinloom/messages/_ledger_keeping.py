"""Wording of the ledger's findings about itself: its database, its chain, its passphrase."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "ledger-altered": Wording(
        what="Event {seq} was altered after it was recorded.",
        do=(
            "Keep this file as it is, compare it with a backup and find out who had access; then "
            "restore the backup."
        ),
    ),
    "ledger-anchor-differs": Wording(
        what="Event {seq} is not the one that the receipt with that number was printed for.",
        do=(
            "The chain was rewritten from there or before: go back to the newest backup that "
            "agrees with the receipt."
        ),
    ),
    "ledger-anchor-missing": Wording(
        what="There is no event {seq}, though a receipt names it.",
        do=(
            "The end of the chain was cut off, or an older copy is in use: go back to the newest "
            "backup."
        ),
    ),
    "ledger-broken": Wording(
        what=(
            "Event {seq} does not follow from event {before}, which was rewritten together with "
            "its hash."
        ),
        do="Keep this file as it is, compare it with a backup and restore that.",
    ),
    "ledger-busy": Wording(
        what="Another program is writing to the ledger and did not finish in time.",
        do="Try again; if it stays so, end the other program.",
    ),
    "ledger-clock-back": Wording(
        what=(
            "Event {seq} is dated {at}, before the event it follows ({before}): the clock had "
            "been set back."
        ),
        do="Set the clock right; the order of events does not depend on it.",
    ),
    "ledger-damaged": Wording(
        what="The database file is damaged.",
        do="Set the file aside, do not write to it, and restore the newest backup.",
    ),
    "ledger-disk-full": Wording(
        what="There is no room left on the disk, so nothing was recorded.",
        do="Make room and do it again.",
    ),
    "ledger-exists": Wording(
        what="There is a ledger already.",
        do="Open it, or name another place.",
    ),
    "ledger-file-damaged": Wording(
        what="The database's own check finds the file damaged ({count} faults).",
        do="Set the file aside and restore the newest backup.",
    ),
    "ledger-file-error": Wording(
        what="The file cannot be read or written: {reason}.",
        do="Check the path, the rights and the room on the disk.",
    ),
    "ledger-head-differs": Wording(
        what="The ledger notes event {head} as its last, and the chain ends at event {last}.",
        do="Rows were removed at the end, or the note was altered: compare with a backup.",
    ),
    "ledger-incoherent": Wording(
        what="Event {seq} cannot follow from the events before it.",
        do="It was not recorded by this program: compare with a backup.",
    ),
    "ledger-io-error": Wording(
        what="The disk did not read or write when asked to.",
        do="Check the disk and its mount, then run pinloom ledger verify.",
    ),
    "ledger-missing": Wording(
        what="Event {seq} is missing.",
        do="Somebody removed it: compare with a backup and restore that.",
    ),
    "ledger-missing-run": Wording(
        what="Events {first_seq} to {last_seq} are missing.",
        do="Somebody removed them: compare with a backup and restore that.",
    ),
    "ledger-newer": Wording(
        what=(
            "This ledger was written by a newer version of the program (form {found}; this one "
            "knows {known})."
        ),
        do="Use the newer version.",
    ),
    "ledger-no-driver": Wording(
        what="PostgreSQL's driver is not installed.",
        do="Install pinloom with its extra postgres.",
    ),
    "ledger-no-such-place": Wording(
        what="A ledger cannot be kept in {scheme}.",
        do="Give a file, or a URL that begins with postgresql://.",
    ),
    "ledger-none-here": Wording(
        what="There is no ledger here.",
        do="Make one with pinloom ledger new, or give its place with --ledger.",
    ),
    "ledger-older": Wording(
        what="This ledger has an older form ({found}; this version writes {known}).",
        do="Make a backup, then run pinloom ledger upgrade.",
    ),
    "ledger-out-of-place": Wording(
        what="Event {seq} is not in its place: it was recorded after event {after}.",
        do="Rows were reordered: compare with a backup and restore that.",
    ),
    "ledger-passphrase-short": Wording(
        what="The passphrase is too short.",
        do="Use at least {least} signs; several words are good.",
    ),
    "ledger-read-only": Wording(
        what="The ledger cannot be written to.",
        do="Check the rights of the file and its folder, or of the database's user.",
    ),
    "ledger-seal-altered": Wording(
        what="The sealed cuts and pins that event {seq} brought in were altered.",
        do="Restore them from a backup.",
    ),
    "ledger-seal-damaged": Wording(
        what="The sealed cuts and pins of revision {revision} cannot be opened.",
        do="Run pinloom ledger verify, and restore a backup.",
    ),
    "ledger-seal-missing": Wording(
        what="The sealed cuts and pins that event {seq} brought in are missing.",
        do="Restore them from a backup.",
    ),
    "ledger-seal-stray": Wording(
        what="There are sealed bytes for event {seq}, which brought in none.",
        do="They were not recorded by this program: compare with a backup.",
    ),
    "ledger-state-altered": Wording(
        what="The row {key} of the table {table} does not say what the events say.",
        do=(
            "Run pinloom ledger upgrade --again, which works the tables out from the events, and "
            "find out who had access."
        ),
    ),
    "ledger-strongbox-altered": Wording(
        what="The key that opens the sealed cuts was altered or exchanged.",
        do="Restore a backup.",
    ),
    "ledger-strongbox-damaged": Wording(
        what="The key that opens the sealed cuts cannot be read.",
        do="Restore a backup.",
    ),
    "ledger-time-unmarked": Wording(
        what="The date of event {seq} and its mark for a clock set back do not go together.",
        do="It was not recorded by this program: compare with a backup.",
    ),
    "ledger-unguarded": Wording(
        what="The database no longer refuses changes to the chain ({triggers}).",
        do="Find out who removed the triggers; verify, and restore a backup.",
    ),
    "ledger-unreachable": Wording(
        what="The ledger cannot be opened.",
        do="Check the path or the address, the rights, and that the database runs.",
    ),
    "ledger-unreadable": Wording(
        what="Event {seq} cannot be read by this version.",
        do="Use the version that wrote it, or compare with a backup.",
    ),
    "ledger-wait": Wording(
        what="Too many wrong passphrases.",
        do="Wait {seconds} seconds.",
    ),
    "ledger-wrong-passphrase": Wording(
        what="The passphrase is wrong.",
        do="Check capitals and keyboard. Seconds until the next try counts: {seconds}.",
    ),
}
