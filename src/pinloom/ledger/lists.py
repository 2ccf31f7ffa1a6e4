"""The lists a shop keeps, by name, with their columns.

One set for both directions: what ``lists_out`` writes, ``lists_in`` reads, and an empty ledger
filled from them gives the same lists again. ``person`` is a label that is unique within the files:
the name itself, or, for namesakes, the name with a number behind it.
"""

from dataclasses import dataclass
from enum import Enum


class ListKind(Enum):
    """A list by the name of its file or sheet."""

    SITES = "sites"
    PEOPLE = "people"
    SIGNATORIES = "signatories"
    BLANKS = "blanks"
    KEYS = "keys"
    DOORS = "doors"
    CYLINDERS = "cylinders"


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """What a list must have and may have."""

    needed: tuple[str, ...]
    optional: tuple[str, ...] = ()

    def all(self) -> tuple[str, ...]:
        """In the order in which they are written."""
        return self.needed + self.optional


COLUMNS: dict[ListKind, Columns] = {
    ListKind.SITES: Columns(needed=("site",), optional=("building",)),
    ListKind.PEOPLE: Columns(
        needed=("person",), optional=("name", "organisation", "contact", "note")
    ),
    ListKind.SIGNATORIES: Columns(needed=("site", "person", "authority"), optional=("until",)),
    ListKind.BLANKS: Columns(needed=("blank",), optional=("restricted", "left")),
    ListKind.KEYS: Columns(
        needed=("site", "system", "key", "stamp"),
        optional=(
            "copy",
            "combination",
            "blank",
            "state",
            "holder",
            "out",
            "due",
            "issuer",
            "issuer signature",
            "receiver signature",
        ),
    ),
    ListKind.DOORS: Columns(needed=("site", "system", "door", "building")),
    ListKind.CYLINDERS: Columns(
        needed=("site", "system", "cylinder", "pinned for"), optional=("door", "place")
    ),
}
