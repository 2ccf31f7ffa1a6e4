"""The draft as a record: what the workbook will say, and the access chart that it means."""

from dataclasses import dataclass
from enum import Enum

from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding
from pinloom.draft.judged import Judged
from pinloom.draft.services import ServiceDoor


class Grouping(Enum):
    """What the masters stand for."""

    ZONE = "zone"  # a department
    FLOOR = "floor"
    BOTH = "both"  # departments as masters, floors as keys across them


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftDoor:
    """One door with a cylinder. ``keys`` = the lowest keys that open it."""

    judged: Judged
    keys: tuple[str, ...]
    department: str
    floor: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftKey:
    """One key, and for whom it is."""

    name: str
    under: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something the customer has to answer, and what the draft assumes until then."""

    about: str
    question: str
    assumed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftSchedule:
    """A first schedule. ``chart`` is None only when no door takes a cylinder."""

    building: str
    source: str
    grouping: Grouping
    doors: tuple[DraftDoor, ...]
    apart: tuple[Judged, ...]
    keys: tuple[DraftKey, ...]
    services: tuple[ServiceDoor, ...]
    questions: tuple[Question, ...]
    chart: AccessChart | None
    findings: tuple[Finding, ...]
