"""The ledger itself: one place, one writer at a time, all of an action or nothing of it.

An action (a function of ``Writing``) looks at what is so, appends events and returns findings. With
a fault among them nothing is kept.

Refusals are findings. ``Trouble`` is raised when the database cannot do its work.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TypeVar

from sqlalchemy import Connection, Engine, insert

from pinloom.core.findings import Finding, fault, has_fault
from pinloom.core.passphrases import SHORTEST_PASSPHRASE
from pinloom.ledger import fold, upgrade
from pinloom.ledger.database import WRITING, Trouble, Where, connect, understood
from pinloom.ledger.details import Opened, Upgraded
from pinloom.ledger.events import NO_HASH, Event, EventKind
from pinloom.ledger.schema import attempts, head, strongbox
from pinloom.ledger.view import Reading, Writing
from pinloom.vault import Cost, Strongbox

T = TypeVar("T")

Clock = Callable[[], datetime]  # an aware time; its zone is the shop's


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What an action came to: the events it recorded (none when refused) and what to say."""

    events: tuple[Event, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def done(self) -> bool:
        """Whether it was recorded."""
        return not has_fault(self.findings)


class Ledger:
    """An open ledger. Use ``create`` or ``open``."""

    def __init__(self, engine: Engine, place: Where, clock: Clock) -> None:
        self.engine = engine
        self.place = place
        self.clock = clock

    @staticmethod
    def create(
        place: Where, clock: Clock, who: str, passphrase: str, cost: Cost | None = None
    ) -> "Ledger":
        """A new ledger. Raises Trouble when there is one already, or the passphrase is short."""
        if len(passphrase) < SHORTEST_PASSPHRASE:
            raise Trouble(fault("ledger-passphrase-short", least=SHORTEST_PASSPHRASE))
        box, _ = Strongbox.new(passphrase, cost)
        engine = connect(place, make=True)
        ledger = Ledger(engine, place, clock)
        with ledger.or_let_go(), ledger.transaction(writing=True) as connection:
            if upgrade.form(connection):
                raise Trouble(fault("ledger-exists", place.place()))
            upgrade.run(connection)
            begin(connection, box.text())
            tx = Writing(connection, clock(), who)
            tx.append(EventKind.OPENED, Opened(box=box.fingerprint()))
            tx.close()
        return ledger

    @staticmethod
    def open(place: Where, clock: Clock) -> "Ledger":
        """The ledger there. Raises Trouble when there is none or it needs an upgrade."""
        if place.path is not None and not place.path.exists():
            raise Trouble(fault("ledger-none-here", place.place()))
        ledger = Ledger(connect(place), place, clock)
        with ledger.or_let_go(), ledger.transaction() as connection:
            problem = upgrade.judge(connection, place)
            if problem is not None:
                raise Trouble(problem)
        return ledger

    @staticmethod
    def upgrade(place: Where, clock: Clock, who: str, *, again: bool = False) -> "Ledger | None":
        """Bring an older ledger to this program's form, in one transaction; None = it was.

        ``again`` works its state tables out afresh in any case. Raises Trouble.
        """
        if place.path is not None and not place.path.exists():
            raise Trouble(fault("ledger-none-here", place.place()))
        ledger = Ledger(connect(place), place, clock)
        with ledger.or_let_go(), ledger.transaction(writing=True) as connection:
            found = upgrade.form(connection)
            problem = upgrade.judge(connection, place)
            if problem is not None and problem.code != "ledger-older":
                raise Trouble(problem)
            needed = problem is not None or again
            if needed:
                upgrade.run(connection)
                upgrade.afresh(connection)
                tx = Writing(connection, clock(), who)
                tx.append(EventKind.UPGRADED, Upgraded(before=found, after=upgrade.NEWEST))
                tx.close()
        if not needed:
            ledger.close()
        return ledger if needed else None

    @contextmanager
    def transaction(self, *, writing: bool = False) -> Iterator[Connection]:
        """A transaction that commits at the end; errors of the database become Trouble."""
        try:
            with self.engine.connect() as raw:
                connection = raw.execution_options(**{WRITING: writing})
                if self.engine.dialect.name == "postgresql":
                    # Readers see one moment; writers, once first in line, what was just committed.
                    level = "READ COMMITTED" if writing else "REPEATABLE READ"
                    connection = connection.execution_options(isolation_level=level)
                with connection.begin():
                    yield connection
        except Exception as error:
            trouble = understood(error, self.place)
            if trouble is None:
                raise
            raise trouble from None

    def do(
        self,
        action: Callable[[Writing], Sequence[Finding]],
        who: str,
        *,
        as_written: bool = False,
        dry: bool = False,
    ) -> Outcome:
        """Run an action. All of it is recorded, or, with a fault among its findings, nothing.

        ``as_written``: a reason that reads as cuts is meant, and is none. ``dry``: nothing is kept
        in any case; the outcome says what would have been.
        """
        with self.transaction(writing=True) as connection:
            tx = Writing(connection, self.clock(), who)
            findings = tuple(action(tx))
            if not as_written:
                findings += tuple(tx.objections[:1])
            if has_fault(findings):
                connection.get_transaction().rollback()  # type: ignore[union-attr]
                return Outcome(findings=findings)
            tx.close()
            if dry:
                connection.get_transaction().rollback()  # type: ignore[union-attr]
            return Outcome(events=tuple(tx.recorded), findings=findings)

    def ask(self, question: Callable[[Reading], T]) -> T:
        """The answer to a question, from one consistent view."""
        with self.transaction() as connection:
            return question(Reading(connection, self.clock()))

    @contextmanager
    def or_let_go(self) -> Iterator[None]:
        """Let go of the database when it does not work out."""
        try:
            yield
        except BaseException:
            self.close()
            raise

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def begin(connection: Connection, box: str) -> None:
    """The keeper rows of an empty ledger."""
    start = {"id": 1, "seq": 0, "hash": NO_HASH, "at": "", "state": fold.STATE}
    connection.execute(insert(head), start)
    connection.execute(insert(strongbox), {"id": 1, "text": box})
    connection.execute(insert(attempts), {"id": 1, "failed": 0, "last": ""})
