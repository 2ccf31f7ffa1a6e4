"""The passphrase: proving it, slowing down who guesses it, changing it.

A wrong passphrase is counted before it is tried, and the count is committed, so that neither a
kill nor a second window gives free guesses. The first ``FREE`` failures cost nothing, then each
doubles the wait, up to ``LONGEST``. This slows a person at the counter; what protects a copied file
is the work of Argon2id. A clock set back does not shorten the wait.
"""

from datetime import datetime, timedelta

from sqlalchemy import select, update

from pinloom.core.findings import Finding, fault
from pinloom.core.passphrases import SHORTEST_PASSPHRASE
from pinloom.ledger.details import Opened
from pinloom.ledger.events import EventKind
from pinloom.ledger.schema import attempts, strongbox
from pinloom.ledger.store import Ledger, Outcome
from pinloom.ledger.view import Writing, stamp, unstamp
from pinloom.vault import Cost, DataKey, Strongbox

FREE = 3
LONGEST = timedelta(hours=1)


def wait_after(failed: int) -> timedelta:
    """How long to wait after so many failures in a row."""
    if failed <= FREE:
        return timedelta(0)
    return min(timedelta(seconds=2.0 ** min(failed - FREE, 32)), LONGEST)


def unlock(ledger: Ledger, passphrase: str) -> DataKey | Finding:
    """The data key, or why not. Raises Trouble where the count of failures cannot be kept."""
    refused = _count_attempt(ledger)
    if refused is not None:
        return refused
    box = Strongbox.parse(ledger.ask(lambda view: view.strongbox()))
    if box is None:
        return fault("ledger-strongbox-damaged", ledger.place.place())
    key = box.unwrap(passphrase)
    if key is None:
        failed = ledger.ask(
            lambda view: view.connection.execute(select(attempts.c.failed)).scalar()
        )
        seconds = int(wait_after(failed or 0).total_seconds())
        return fault("ledger-wrong-passphrase", seconds=seconds)
    with ledger.transaction(writing=True) as connection:
        connection.execute(update(attempts).values(failed=0, last=""))
    return key


def _count_attempt(ledger: Ledger) -> Finding | None:
    with ledger.transaction(writing=True) as connection:
        row = connection.execute(select(attempts).with_for_update()).one()
        now = ledger.clock()
        left = _left(row.failed, row.last, now)
        if left > timedelta(0):
            if now < unstamp(row.last):  # set back: count from the time the clock shows now
                connection.execute(update(attempts).values(last=stamp(now)))
            return fault("ledger-wait", seconds=int(left.total_seconds()) + 1)
        connection.execute(update(attempts).values(failed=row.failed + 1, last=stamp(now)))
    return None


def _left(failed: int, last: str, now: datetime) -> timedelta:
    if not last:
        return timedelta(0)
    whole = wait_after(failed)
    return min(whole - (now - unstamp(last)), whole)


def change_passphrase(
    ledger: Ledger, old: str, new: str, who: str, cost: Cost | None = None
) -> Outcome:
    """Wrap the data key anew. One row is replaced in the transaction that records the change."""
    if len(new) < SHORTEST_PASSPHRASE:
        return Outcome(findings=(fault("ledger-passphrase-short", least=SHORTEST_PASSPHRASE),))
    key = unlock(ledger, old)
    if not isinstance(key, DataKey):
        return Outcome(findings=(key,))

    def action(tx: Writing) -> list[Finding]:
        box = Strongbox.parse(tx.strongbox())
        again = box.rewrap(old, new, cost) if box else None
        if again is None:  # somebody else changed it meanwhile
            return [fault("ledger-wrong-passphrase", seconds=0)]
        tx.connection.execute(update(strongbox).values(text=again.text()))
        tx.append(EventKind.PASSPHRASE, Opened(box=again.fingerprint()))
        return []

    return ledger.do(action, who)
