"""What the tests of the ledger share: a small boatyard, its job, a clock that does as told."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.findings import Finding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey, FaultKind, Job, ProofFault, ProofReport
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.hardware import load_format
from pinloom.ledger import counter, cylinders, enter, people, stock, workshop
from pinloom.ledger.database import Where
from pinloom.ledger.store import Ledger, Outcome
from pinloom.ledger.unlocking import unlock
from pinloom.ledger.view import Writing
from pinloom.vault import Cost, DataKey

PASSPHRASE = "lofts and long sails"
QUICK = Cost(rounds=1, memory_kib=8, lanes=1)
CLERK = "clerk at the desk"
SITE, SYSTEM = "Alder Quay", "Quay system"

#: levels, invented; each differs from every other in two steps or more
CUTS: dict[str, Bitting] = {
    "TOP": (4, 2, 8, 6, 1, 3),
    "AA": (4, 2, 8, 6, 3, 5),
    "AA1": (4, 2, 8, 8, 5, 7),
    "AA2": (4, 2, 6, 8, 7, 9),
    "cleaner": (6, 4, 8, 6, 9, 7),
}
OPENS = {
    "Loft 1": ["TOP", "AA", "AA1"],
    "Loft 2": ["TOP", "AA", "AA2"],
    "Loft stair": ["TOP", "AA", "AA1", "AA2", "cleaner"],
    "Slipway": ["TOP", "cleaner"],
}


class Clock:
    """A clock that stands still unless told."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        """The time it shows."""
        return self.now

    def forward(self, **by: float) -> None:
        """Let time pass (``days=1``), or, with a negative number, set the clock back."""
        self.now += timedelta(**by)


def sixes() -> HardwareFormat:
    """The format of the boatyard: six chambers, ten depths."""
    made = load_format("us-6x10-015").format
    assert made is not None
    return made


def job(
    revision: int = 1,
    cuts: dict[str, Bitting] | None = None,
    opens: dict[str, list[str]] | None = None,
    *,
    proved: bool = True,
    copies: dict[str, int] | None = None,
    blanks: dict[str, str] | None = None,
) -> Job:
    """A revision of the boatyard's job. The proof is given, not made: the ledger does not prove."""
    cuts, opens = cuts or CUTS, opens or OPENS
    made = sixes()
    chart = AccessChart.build(
        [Door(name=name, opening=name) for name in opens],
        [
            Key(name=name, copies=(copies or {}).get(name), blank=(blanks or {}).get(name, ""))
            for name in cuts
        ],
        opens,
    )
    faults = (ProofFault(kind=FaultKind.OPENS, key="AA1", door="Slipway"),)
    return Job(
        name=SYSTEM,
        revision=revision,
        chart=chart,
        formats=(made,),
        bittings=tuple(cuts[key.name] for key in chart.keys),
        controls=(ControlKey(group="", levels=(9, 7, 5, 3, 1, 2)),),
        pinning=tuple(
            pinned(door.name, [cuts[chart.keys[k].name] for k in row])
            for door, row in zip(chart.doors, chart.openers, strict=True)
        ),
        proof=ProofReport(
            faults=() if proved else faults,
            pairs=len(chart.doors) * len(chart.keys),
            tightest=None,
            fingerprint=f"fingerprint of {revision} {sorted(cuts.items())}",
        ),
    )


def pinned(door: str, keys: Sequence[Bitting]) -> PinnedCylinder:
    """The plain stacks for some keys: one shear line a cut."""
    stacks = []
    for column in zip(*keys, strict=True):
        cuts = sorted(set(column))
        steps = tuple(b - a for a, b in zip(cuts, cuts[1:], strict=False))
        stacks.append(PinStack(bottom=cuts[0], masters=steps, driver="plain"))
    return PinnedCylinder(door=door, chambers=tuple(stacks))


def new_ledger(place: Where, clock: Clock) -> Ledger:
    """An empty ledger, quickly sealed."""
    return Ledger.create(place, clock, CLERK, PASSPHRASE, QUICK)


def key_of(ledger: Ledger) -> DataKey:
    """Its data key."""
    key = unlock(ledger, PASSPHRASE)
    assert isinstance(key, DataKey), key
    return key


def do(ledger: Ledger, action: Callable[[Writing], list[Finding]]) -> Outcome:
    """Do it; it must be done."""
    outcome = ledger.do(action, CLERK)
    assert outcome.done, [one.code for one in outcome.findings]
    return outcome


def refused(ledger: Ledger, action: Callable[[Writing], list[Finding]]) -> list[str]:
    """Try it; it must be refused and leave no event. The codes of its faults."""
    before = ledger.ask(lambda view: view.head())
    outcome = ledger.do(action, CLERK)
    assert not outcome.done
    assert outcome.events == ()
    assert ledger.ask(lambda view: view.head()) == before
    return [one.code for one in outcome.findings if one.severity.value == "fault"]


def codes(outcome: Outcome) -> list[str]:
    """The codes of an outcome's findings."""
    return [one.code for one in outcome.findings]


def populate(ledger: Ledger) -> None:
    """The boatyard in full: people, an approved revision, copies, pinned doors, two keys out."""
    key = key_of(ledger)
    do(ledger, lambda tx: people.add_site(tx, SITE))
    do(ledger, lambda tx: people.add_building(tx, SITE, "Sail loft"))
    for person in ("Sailmaker", "Rigger", "Harbour office"):
        do(ledger, partial(people.add_person, name=person, organisation="Alder Quay yard"))
    do(ledger, lambda tx: people.add_signatory(tx, SITE, "Harbour office", "letter of 1 March"))
    do(ledger, lambda tx: enter.enter(tx, key, blanked_job(), SITE, SYSTEM, "Sail loft"))
    do(ledger, lambda tx: enter.approve(tx, SYSTEM, 1, "Harbour office", "order 7 of 2 March"))
    do(ledger, lambda tx: stock.receive(tx, "quay blank", 20))
    for name in CUTS:
        do(ledger, partial(workshop.cut, system=SYSTEM, key=name, copies=2))
    for name in OPENS:
        do(ledger, partial(cylinders.pin, system=SYSTEM, door=name))
    do(ledger, lambda tx: cylinders.pin(tx, SYSTEM, "Loft 1", mark="spare 1", place="safe"))
    do(ledger, lambda tx: counter.issue(tx, "AA1-1", "Sailmaker", due="2026-03-09"))
    do(ledger, lambda tx: counter.issue(tx, "cleaner-1", "Rigger"))


def blanked_job(revision: int = 1) -> Job:
    """The boatyard's job with a blank for every key."""
    return job(revision, blanks=dict.fromkeys(CUTS, "quay blank"))


def standing(base: Job, of: dict[str, str]) -> Job:
    """A job in which some keys have another standing."""
    keys = tuple(
        replace(key, standing=KeyStanding(of.get(key.name, key.standing.value)))
        for key in base.chart.keys
    )
    return replace(base, chart=replace(base.chart, keys=keys))


def counted(base: Job, door: str, count: int) -> Job:
    """A job in which a door has several cylinders."""
    doors = tuple(
        replace(one, count=count) if one.name == door else one for one in base.chart.doors
    )
    return replace(base, chart=replace(base.chart, doors=doors))
