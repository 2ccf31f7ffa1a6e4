"""What an audit says, as records. Levels and chambers count from 0; doors and keys go by name."""

from dataclasses import dataclass
from enum import Enum

from pinloom.core.bitting import Bitting
from pinloom.core.findings import Finding
from pinloom.core.job import Claim


class Reach(Enum):
    """The two ways to count what opens a cylinder."""

    EXACT = "exact"  # distance 0 in every chamber; published counts are of this kind
    TOLERANT = "tolerant"  # nearer than the least step in every chamber


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorCount:
    """Bittings that operate one cylinder, MACS respected. ``issued`` = the job's keys among the
    tolerant ones, equal cuts counted once; a key that cannot enter the keyway, or whose given cuts
    break MACS, is not among them.
    """

    door: str
    exact: int
    tolerant: int
    issued: int
    master_pins: int


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentalKey:
    """A cuttable key nobody ordered. ``nearest`` = the job's key with the fewest other cuts."""

    levels: Bitting  # a secret: shown on request only
    doors: int
    cuts: int  # how many cuts differ from ``nearest``
    nearest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Census:
    """How many doors every cuttable key opens. ``opens`` = (doors, keys) pairs, ascending, only
    those with keys; ``strongest`` = incidental keys of two doors or more, most doors first.
    """

    reach: Reach
    opens: tuple[tuple[int, int], ...]
    strongest: tuple[IncidentalKey, ...]

    @property
    def keys(self) -> int:
        """Cuttable keys in all."""
        return sum(keys for _, keys in self.opens)

    @property
    def opening(self) -> int:
        """Distinct keys that open at least one door."""
        return sum(keys for doors, keys in self.opens if doors)


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """A key that a door refuses: by how many chambers, and the best of them by how many steps."""

    key: str
    door: str
    chambers: int
    steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Fragile:
    """A door that refuses keys by one chamber and one least step alone, and how many keys."""

    door: str
    keys: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbours:
    """Margins of all refusals.

    ``margins`` = (chambers, steps, pairs), weakest first; ``weakest`` = the first of them by name;
    ``one_step_more`` = pairs that would open were the least step one larger.
    """

    pairs: int
    margins: tuple[tuple[int, int, int], ...]
    weakest: tuple[Neighbour, ...]
    fragile: tuple[Fragile, ...]
    one_step_more: int
    wear: tuple[Neighbour, ...]  # the first of those pairs


class Countermeasure(Enum):
    """What lowers the exposure of a door."""

    SINGLE_KEY = "take the door off the masters"
    FEWER_MASTER_PINS = "fewer master pins"
    ROTATING_CONSTANTS = "keep some chambers constant"
    RESTRICTED_BLANK = "restricted blanks"
    CORE_GROUP = "a core group of its own"


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorExposure:
    """One cylinder in the classic argument of inference from a lesser key.

    ``at_stake`` = the widest key that opens the door; empty where no lesser key does. ``holders`` =
    keys that open the door and open fewer doors. ``trials`` = pinned chambers x (depths - 1), an
    upper bound. ``behind`` = doors that the key at stake opens. ``without`` = exact combinations
    left were the door taken off it.
    """

    door: str
    at_stake: str
    holders: int
    trials: int
    behind: int
    without: int
    lowers: tuple[Countermeasure, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MasterExposure:
    """A key at stake: through how many doors, from how many keys, and what it would open."""

    key: str
    through: int
    holders: int
    behind: int
    least_trials: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeCount:
    """One grade of key-related security, with the format's own numbers.

    ``codes`` meet the grade's two step rules; ``cuttable`` also keep MACS; ``apart`` use only
    depths a least step apart. ``met`` compares the smallest of them.
    """

    grade: int
    needed: int
    codes: int
    cuttable: int
    apart: int
    detainers: int
    met: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyGrade:
    """The highest grade whose step rules the cuts of one key keep; 0 when none."""

    key: str
    grade: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Standards:
    """Readings of published standards. A cylinder's certificate is its maker's, not ours."""

    grades: tuple[GradeCount, ...]
    format_grade: int
    keys: tuple[KeyGrade, ...]
    selective: tuple[str, ...]  # masters that cut across the others
    cross_keyed: tuple[str, ...]  # doors operated by keys side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class Audit:
    """Everything the audit found. ``census`` is empty where the key space is too large."""

    name: str
    faults: tuple[tuple[str, str], ...]  # (key, door), as the proof of the job says
    doors: tuple[DoorCount, ...]
    census: tuple[Census, ...]  # exact, tolerant
    neighbours: Neighbours
    exposure: tuple[DoorExposure, ...]
    masters: tuple[MasterExposure, ...]
    standards: Standards
    claims: tuple[Claim, ...]
    findings: tuple[Finding, ...]

    @property
    def exact(self) -> Census | None:
        """The census by distance 0."""
        return next((one for one in self.census if one.reach is Reach.EXACT), None)

    @property
    def tolerant(self) -> Census | None:
        """The census by the least step."""
        return next((one for one in self.census if one.reach is Reach.TOLERANT), None)

    @property
    def incidental(self) -> int:
        """Sum over the doors of tolerant combinations that are no key of the job."""
        return sum(door.tolerant - door.issued for door in self.doors)
