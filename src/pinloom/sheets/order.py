"""What sheets are made from: a proved job and what other stages worked out of it, as records."""

from dataclasses import dataclass, field
from decimal import Decimal
from enum import Enum

from pinloom.core.bench import KeyCutting, Part, PartCount
from pinloom.core.job import Job
from pinloom.sheets.blocks import Paper


class KeyControl(Enum):
    """Where a key is stamped (trade words: visual and concealed key control)."""

    VISUAL = "visual"
    CONCEALED = "concealed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Minutes:
    """The shop's own minutes; None = not said, so that no estimate is made up."""

    cylinder: Decimal | None = None
    core: Decimal | None = None
    key: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditLine:
    """One door of the audit's summary."""

    door: str
    exact: int
    tolerant: int
    issued: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditDigest:
    """The audit without any cut: figures and what lowers them."""

    facts: tuple[tuple[str, str], ...]
    doors: tuple[AuditLine, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOrder:
    """``cutting`` = keys in chart order, then control keys; ``pins`` = parts by door and chamber,
    bottom-up; ``parts`` = those to take; ``before`` = the job one revision earlier, if any.
    ``since_before`` = keys and cylinders that are as they were then are cut and pinned already.
    ``approved_by`` = who approved this revision, and on what authority. ``spoilage`` in percent.
    """

    job: Job
    cutting: tuple[KeyCutting, ...]
    pins: tuple[tuple[tuple[Part, ...], ...], ...]
    parts: tuple[PartCount, ...]
    audit: AuditDigest | None = None
    before: Job | None = None
    since_before: bool = False
    approved_by: str | None = None
    paper: Paper = Paper.A4
    key_control: KeyControl = KeyControl.VISUAL
    spoilage: int = 5
    minutes: Minutes = field(default_factory=Minutes)
