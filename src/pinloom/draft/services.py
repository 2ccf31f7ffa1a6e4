"""Service keys proposed from the kinds of rooms, each with what it opens and what it leaves out.

A service key crosses departments, so it is a selective master key: where it is used it costs some
20-25 % of the capacity, and at most one system-wide is recommended (ANSI/BHMA A156.28-2018,
recommended practices for mechanical keying systems, extract). Hence they are proposals: the sheet
of service keys says why each door is in or out, and a person deletes what is not wanted.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum

from pinloom.draft.judged import Egress, Judged, Plan, Why
from pinloom.draft.kinds import RoomKind


class Service(Enum):
    """The service keys; the value is the key's name in the draft."""

    CLEANING = "CLEANING"
    PLANT = "PLANT"
    INFORMATION = "INFOTECH"
    SECURITY = "SECURITY"


#: rooms that a service key stays out of unless its own work is there
_GUARDED = (
    RoomKind.MEDICINES,
    RoomKind.RECORDS,
    RoomKind.MONEY,
    RoomKind.HAZARD,
    RoomKind.PLANT,
    RoomKind.INFORMATION,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceDoor:
    """One door of one service key: opened, or left out because of what its room is."""

    service: Service
    judged: Judged
    opens: bool
    kind: RoomKind


def service_doors(plan: Plan, keyed: Iterable[Judged]) -> tuple[ServiceDoor, ...]:
    """For every service key the doors it would open and those it leaves out for a reason.

    Doors that are simply not its business are not listed.
    """
    keyed = tuple(keyed)
    found: list[ServiceDoor] = []
    for service, concern in _CONCERNS.items():
        for judged in keyed:
            if judged.inside is None:
                continue
            kind = plan.kind(judged.inside)
            answer = concern(plan, judged, kind)
            if answer is not None:
                found.append(ServiceDoor(service=service, judged=judged, opens=answer, kind=kind))
    return tuple(found)


def _cleaning(plan: Plan, judged: Judged, kind: RoomKind) -> bool | None:
    """Every room that is cleaned; guarded ones are cleaned in company."""
    assert judged.inside is not None
    return None if plan.is_open(judged.inside) else kind not in _GUARDED


def _plant(_plan: Plan, _judged: Judged, kind: RoomKind) -> bool | None:
    """Plant rooms; stores of dangerous goods have their own rules of access."""
    if kind is RoomKind.HAZARD:
        return False
    return True if kind is RoomKind.PLANT else None


def _information(_plan: Plan, judged: Judged, kind: RoomKind) -> bool | None:
    """Communications and computer rooms; an archive of data is records before it is data."""
    assert judged.inside is not None
    if kind is RoomKind.RECORDS and "data" in judged.inside.title.casefold():
        return False
    return True if kind is RoomKind.INFORMATION else None


def _security(plan: Plan, judged: Judged, kind: RoomKind) -> bool | None:
    """Outer doors, for the round that checks them; guarded rooms are checked from outside."""
    assert judged.inside is not None
    if judged.egress is not Egress.EXIT or judged.why not in (Why.OUTDOORS, Why.ONLY):
        return None
    return plan.is_open(judged.inside) or kind not in _GUARDED


_CONCERNS: dict[Service, Callable[[Plan, Judged, RoomKind], bool | None]] = {
    Service.CLEANING: _cleaning,
    Service.PLANT: _plant,
    Service.INFORMATION: _information,
    Service.SECURITY: _security,
}
