"""Edits of a chart: what a hand at a grid does, carried out all together or not at all.

A door or a key is called by its name, never by its place: places move when names are sorted. A mark
is what the grid shows: masters have marks of their own.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, ValidationError

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.findings import Finding, fault
from pinloom.core.names import clean

LONGEST_NAME = 120
MOST = 200_000  # edits of one write: a large block, pasted


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A key shall open a door, or shall not."""

    do: Literal["mark"]
    door: str
    key: str
    on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Add:
    """A new door, or a new key under a master."""

    do: Literal["door", "key"]
    name: str
    under: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """A door or a key is wanted no more."""

    do: Literal["drop-door", "drop-key"]
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rename:
    """Another name for the same door or key."""

    do: Literal["rename-door", "rename-key"]
    name: str
    to: str


Edit = Annotated[Mark | Add | Drop | Rename, Field(discriminator="do")]


def read_edits(text: str) -> tuple[Edit, ...] | None:
    """The edits in a JSON list; None when it is none."""
    try:
        found = _lists().validate_json(text)
    except ValidationError:
        return None
    return tuple(found) if len(found) <= MOST else None


def applied(
    chart: AccessChart, edits: Sequence[Edit]
) -> tuple[AccessChart | None, tuple[Finding, ...]]:
    """The edited chart, or every reason why there is none."""
    work = _Work(chart)
    for edit in edits:
        if isinstance(edit, Mark):
            work.mark(edit)
        elif isinstance(edit, Add):
            work.add(edit)
        elif isinstance(edit, Drop):
            work.drop(edit)
        else:
            work.rename(edit)
    if work.found:
        return None, tuple(dict.fromkeys(work.found))
    return work.chart(), ()


class _Work:
    """A chart being edited, by names."""

    def __init__(self, chart: AccessChart) -> None:
        self.found: list[Finding] = []
        self._before = chart
        self._doors = {door.name: door for door in chart.doors}
        self._keys = {key.name: key for key in chart.keys}
        self._opens: dict[str, set[str]] = {}
        self._rows = dict(zip((door.name for door in chart.doors), chart.openers, strict=True))
        self._names_change = False

    def chart(self) -> AccessChart:
        """The result. Marks alone leave the order, and most rows, as they are."""
        if self._names_change:
            opens = {name: self._row(name) for name in self._doors}
            return AccessChart.build(
                self._doors.values(), self._keys.values(), opens, self._before.blanks
            )
        index = self._before.key_index()
        rows = list(self._before.openers)
        for number, door in enumerate(self._before.doors):
            if door.name in self._opens:
                rows[number] = tuple(sorted(index[name] for name in self._opens[door.name]))
        return replace(self._before, openers=tuple(rows))

    def mark(self, edit: Mark) -> None:
        """Set or take off one mark."""
        if not self._known("door", edit.door) or not self._known("key", edit.key):
            return
        row = self._row(edit.door)
        if edit.on:
            row.add(edit.key)
        else:
            row.discard(edit.key)

    def add(self, edit: Add) -> None:
        """A new door or key, after its name was looked at."""
        name = clean(edit.name)
        if not self._free(edit.do, name):
            return
        self._names_change = True
        if edit.do == "door":
            self._doors[name] = Door(name=name)
            self._opens[name] = set()
            return
        if edit.under and not self._known("key", edit.under):
            return
        self._keys[name] = Key(name=name, under=edit.under)

    def drop(self, edit: Drop) -> None:
        """A door or key less; keys under the key come under its own master."""
        what = edit.do.removeprefix("drop-")
        if not self._known(what, edit.name):
            return
        self._names_change = True
        if what == "door":
            del self._doors[edit.name]
            self._opens.pop(edit.name, None)
            return
        gone = self._keys.pop(edit.name)
        for door in self._doors:
            self._row(door).discard(edit.name)
        self._hang(edit.name, gone.under)

    def rename(self, edit: Rename) -> None:
        """The same thing by another name."""
        what, name = edit.do.removeprefix("rename-"), clean(edit.to)
        if not self._known(what, edit.name) or name == edit.name or not self._free(what, name):
            return
        self._names_change = True
        if what == "door":
            self._opens[name] = self._row(edit.name)
            self._opens.pop(edit.name)
            self._doors[name] = replace(self._doors.pop(edit.name), name=name)
            return
        self._keys[name] = replace(self._keys.pop(edit.name), name=name)
        for door in self._doors:
            row = self._row(door)
            if edit.name in row:
                row.remove(edit.name)
                row.add(name)
        self._hang(edit.name, name)

    def _hang(self, master: str, instead: str) -> None:
        """Keys under a master come under another, and doors outside it are outside that."""
        for key in list(self._keys.values()):
            if key.under == master:
                self._keys[key.name] = replace(key, under=instead)
        for door in list(self._doors.values()):
            if master in door.excepted:
                kept = tuple(instead if one == master else one for one in door.excepted)
                self._doors[door.name] = replace(
                    door, excepted=tuple(one for one in kept if one in self._keys)
                )

    def _row(self, door: str) -> set[str]:
        if door not in self._opens:
            keys = self._before.keys
            self._opens[door] = {keys[key].name for key in self._rows[door]}
        return self._opens[door]

    def _known(self, what: str, name: str) -> bool:
        there = name in (self._doors if what == "door" else self._keys)
        if not there:
            self.found.append(fault("edit-unknown", what=what, name=name))
        return there

    def _free(self, what: str, name: str) -> bool:
        """Whether a name can be given to a door or key."""
        taken = self._doors if what == "door" else self._keys
        if not name or len(name) > LONGEST_NAME or not name.isprintable():
            self.found.append(fault("edit-name", what=what))
            return False
        folded = name.casefold()
        if any(one.casefold() == folded for one in taken):
            self.found.append(fault("edit-taken", what=what, name=name))
            return False
        return True


@cache
def _lists() -> TypeAdapter[list[Edit]]:
    return TypeAdapter(list[Edit])
