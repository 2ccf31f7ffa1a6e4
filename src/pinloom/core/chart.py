"""The access chart: who opens what.

A *door* here is one cylinder; an *opening* may have several. A chart is canonical: doors and keys
are in natural order of their names whatever the order of the file, so that the same wishes give the
same bytes everywhere downstream.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum

from pinloom.core.names import natural
from pinloom.core.room import RoomWish

NMK = "NMK"  # "not master keyed": the trade's word for a door outside every master


class KeyStanding(Enum):
    """What the chart wants of a key."""

    ACTIVE = "active"  # opens its doors
    RESERVED = "reserved"  # planned: has cuts, opens nothing yet
    RETIRED = "retired"  # lost, removed or not returned: exists somewhere, shall open nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """One cylinder of the chart, as ordered. ``unpinned`` holds chamber numbers counted from 1."""

    name: str
    opening: str = ""
    cylinder: str = ""  # type as ordered, the shop's own word
    hardware: str = ""  # format name; empty = the job's
    keyway: str = ""
    count: int = 1  # identical cylinders
    excepted: tuple[str, ...] = ()  # masters that must not open it, as written; NMK = all
    unpinned: tuple[int, ...] = ()
    core_group: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key symbol of the chart. ``given`` = cuts fixed beforehand, as written; ``room`` =
    further change keys to keep room for under it.
    """

    name: str
    under: str = ""
    copies: int | None = None
    standing: KeyStanding = KeyStanding.ACTIVE
    given: str = ""
    blank: str = ""
    note: str = ""
    room: RoomWish | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """A key blank and the keyways it enters. None ship with the program; a job defines its own."""

    name: str
    enters: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessChart:
    """Doors, keys and marks. ``openers[d]`` = ascending indices into ``keys`` that open door ``d``.

    Make one with ``AccessChart.build``; it sorts and checks. Rows of indices, not a dense table:
    20,000 doors by 20,000 keys stay small.
    """

    doors: tuple[Door, ...]
    keys: tuple[Key, ...]
    openers: tuple[tuple[int, ...], ...]
    blanks: tuple[Blank, ...] = field(default=())

    @staticmethod
    def build(
        doors: Iterable[Door],
        keys: Iterable[Key],
        opens: Mapping[str, Iterable[str]],
        blanks: Iterable[Blank] = (),
    ) -> "AccessChart":
        """A canonical chart. ``opens`` maps a door's name to the names of the keys that open it.

        Raises ValueError on duplicate or unknown names: callers check their input first.
        """
        doors = tuple(sorted(doors, key=lambda door: natural(door.name)))
        keys = tuple(sorted(keys, key=lambda key: natural(key.name)))
        index = {key.name: i for i, key in enumerate(keys)}
        if len(index) != len(keys) or len({door.name for door in doors}) != len(doors):
            raise ValueError("door names and key names must each be unique")
        unknown = {name for names in opens.values() for name in names} - index.keys()
        stray = opens.keys() - {door.name for door in doors}
        if unknown or stray:
            raise ValueError(f"unknown keys {sorted(unknown)}, unknown doors {sorted(stray)}")
        rows = tuple(tuple(sorted({index[name] for name in opens.get(d.name, ())})) for d in doors)
        return AccessChart(
            doors=doors,
            keys=keys,
            openers=rows,
            blanks=tuple(sorted(blanks, key=lambda blank: natural(blank.name))),
        )

    def doors_of(self) -> tuple[tuple[int, ...], ...]:
        """Per key, the ascending indices of the doors it opens."""
        columns: list[list[int]] = [[] for _ in self.keys]
        for door, row in enumerate(self.openers):
            for key in row:
                columns[key].append(door)
        return tuple(tuple(column) for column in columns)

    def opens(self) -> dict[str, tuple[str, ...]]:
        """Door name -> names of the keys that open it, as ``build`` takes them."""
        names = [key.name for key in self.keys]
        return {
            door.name: tuple(names[k] for k in row)
            for door, row in zip(self.doors, self.openers, strict=True)
        }

    def key_index(self) -> dict[str, int]:
        """Key name -> index."""
        return {key.name: i for i, key in enumerate(self.keys)}

    def door_index(self) -> dict[str, int]:
        """Door name -> index."""
        return {door.name: i for i, door in enumerate(self.doors)}

    def enters(self, key: Key, door: Door) -> bool:
        """Whether the key's blank enters the door's keyway; unnamed ones always fit."""
        if not key.blank or not door.keyway:
            return True
        for blank in self.blanks:
            if blank.name == key.blank:
                return door.keyway in blank.enters
        return True
