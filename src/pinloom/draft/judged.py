"""What a door wants: which side is protected and why, a cylinder or none, who leaves by it.

Rules (ours unless a source is named; each shows in the draft as the reason for its doors)
- A side is *open* when anyone in the building may be there: outdoors, stairs, lifts, corridors, and
  waiting rooms that belong to no department.
- Between an open and a closed side the closed one is protected. Between two closed sides it is
  the one farther from the open ones, counted in doors; then the more restricted kind; then the
  one the door is named after; then the one with fewer doors; a tie after that is an open question.
- A door with one room leads outdoors when its type says so; otherwise that is an open question.
- No cylinder: doors between open sides, doors inside one room, toilets (privacy set), and doors
  between two rooms of one department unless the inner one is an office, a store or restricted.
- Exits, stair doors and cross-corridor doors carry a caution. An egress door opens from the inside
  without key, tool, special knowledge or effort: NFPA 101 7.2.1.5 and IBC 1010.2, as published
  guides give them; local codes and the authority having jurisdiction decide.
"""

import re
from collections import Counter, deque
from collections.abc import Callable, Container, Mapping
from dataclasses import dataclass
from enum import Enum

from pinloom.core.names import natural
from pinloom.draft.building import Building, BuildingDoor, Room
from pinloom.draft.kinds import Kind, RoomKind, kind_of

_OUTDOOR_TYPE = re.compile(r"\b(exterior|external|outside)\b", re.IGNORECASE)
_EXIT_TYPE = re.compile(r"\bfire exit\b", re.IGNORECASE)
_PARTITION_TYPE = re.compile(r"partition|folding|accordion", re.IGNORECASE)

#: kinds that keep a lock of their own also inside a department
_LOCKED_INSIDE = frozenset(
    {RoomKind.OFFICE, RoomKind.STORE, RoomKind.CLEANING, RoomKind.PLANT, RoomKind.INFORMATION}
    | {RoomKind.HAZARD, RoomKind.RECORDS, RoomKind.MEDICINES, RoomKind.MONEY}
)


class Why(Enum):
    """Why a side is the protected one."""

    ONLY = "the only room named"
    OUTDOORS = "the other side is outdoors"
    OPEN = "the other side is open to everybody"
    INNER = "reached only through the other side"
    KIND = "the more restricted room"
    NAMED = "the door is named after it"
    FEWER = "it has fewer doors than the other side"
    FIRST = "nothing tells the sides apart"
    NONE = ""


class Apart(Enum):
    """Why a door wants no cylinder."""

    OPEN = "between open areas: passage set"
    ONE_ROOM = "inside one room: no lock"
    TOILET = "toilet: privacy set"
    SUITE = "inside a department: passage set"
    NOWHERE = "no room is named: not drafted"


class Egress(Enum):
    """The way out that a door may be part of."""

    EXIT = "exit"
    STAIR = "stair door"
    CORRIDOR = "cross-corridor door"


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One door as judged. ``apart`` is None for a door that takes a cylinder."""

    door: BuildingDoor
    inside: Room | None
    outside: Room | None  # None: outdoors or not told
    why: Why
    apart: Apart | None = None
    egress: Egress | None = None


def named_after(door: str, rooms: Container[str]) -> str:
    """The room that a door is named after: a word of its name, or one less its last letter, which
    tells several doors of a room apart. Empty when there is none.
    """
    words = re.split(r"[^\w.-]+", door)
    shorter = [word[:-1] for word in words if word[-1:].isalpha()]
    return next((word for word in (*words, *shorter) if word in rooms), "")


class Plan:
    """A building with what is needed to judge its doors."""

    def __init__(self, building: Building) -> None:
        self.building = building
        self.rooms: Mapping[str, Room] = building.room_index()
        self.kinds: Mapping[str, Kind] = {room.name: kind_of(room) for room in building.rooms}
        self._common = self._common_zones()
        self._doors_of = Counter(side for door in building.doors for side in set(door.sides))
        self._depth = self._depths()

    def kind(self, room: Room) -> RoomKind:
        """What kind of room a room is."""
        return self.kinds[room.name].kind

    def department(self, room: Room) -> str:
        """The room's first department that is one: a zone of open areas and toilets is none."""
        return next((zone for zone in room.zones if zone not in self._common), "")

    def is_open(self, room: Room) -> bool:
        """Whether anyone in the building may be in the room."""
        kind = self.kinds[room.name]
        return kind.is_public or (kind.kind is RoomKind.WAITING and not self.department(room))

    def _common_zones(self) -> frozenset[str]:
        closed = {
            zone
            for room in self.building.rooms
            for zone in room.zones
            if not self.kinds[room.name].is_public
            and self.kinds[room.name].kind not in (RoomKind.WAITING, RoomKind.TOILET)
        }
        return frozenset(self.building.zones()) - closed

    def _depths(self) -> Mapping[str, int]:
        """Doors between each room and the nearest open area or the outside; rooms that nothing
        reaches are left out.
        """
        near: dict[str, set[str]] = {}
        depth = {name: 0 for name, room in self.rooms.items() if self.is_open(room)}
        for door in self.building.doors:
            if len(door.sides) == 2:
                one, two = door.sides
                near.setdefault(one, set()).add(two)
                near.setdefault(two, set()).add(one)
            elif door.sides and _OUTDOOR_TYPE.search(door.type_text):
                depth.setdefault(door.sides[0], 1)
        pending = deque(sorted(depth, key=lambda name: (depth[name], natural(name))))
        while pending:
            name = pending.popleft()
            for other in sorted(near.get(name, ()), key=natural):
                if depth[name] + 1 < depth.get(other, 1_000_000):
                    depth[other] = depth[name] + 1
                    pending.append(other)
        return depth

    def judge(self, door: BuildingDoor) -> Judged:
        """The judgement on one door."""
        sides = [self.rooms[name] for name in door.sides]
        if not sides:
            return Judged(door=door, inside=None, outside=None, why=Why.NONE, apart=Apart.NOWHERE)
        if len(sides) == 1:
            return self._judge_outer(door, sides[0], None)
        if sides[0].name == sides[1].name:
            return Judged(
                door=door, inside=sides[0], outside=sides[0], why=Why.NONE, apart=Apart.ONE_ROOM
            )
        return self._judge_inner(door, sides[0], sides[1])

    def _judge_outer(self, door: BuildingDoor, inside: Room, outside: Room | None) -> Judged:
        told = outside is not None or bool(_OUTDOOR_TYPE.search(door.type_text))
        why = Why.OUTDOORS if told else Why.ONLY
        if not told and self.kind(inside) is RoomKind.TOILET:
            return Judged(door=door, inside=inside, outside=None, why=why, apart=Apart.TOILET)
        return Judged(door=door, inside=inside, outside=outside, why=why, egress=Egress.EXIT)

    def _judge_inner(self, door: BuildingDoor, one: Room, two: Room) -> Judged:
        outdoors = [self.kind(room) is RoomKind.OUTDOORS for room in (one, two)]
        if outdoors == [True, False]:
            return self._judge_outer(door, two, one)
        if outdoors == [False, True]:
            return self._judge_outer(door, one, two)
        egress = self._egress(door, one, two)
        if self.is_open(one) and self.is_open(two):
            inner, outer = sorted(
                (one, two), key=lambda r: (-self.kinds[r.name].rank, natural(r.name))
            )
            return Judged(
                door=door,
                inside=inner,
                outside=outer,
                why=Why.NONE,
                apart=Apart.OPEN,
                egress=egress or Egress.CORRIDOR,
            )
        inside, outside, why = self._protected(door, one, two)
        return Judged(
            door=door,
            inside=inside,
            outside=outside,
            why=why,
            apart=self._apart(door, inside, outside),
            egress=egress,
        )

    def _egress(self, door: BuildingDoor, one: Room, two: Room) -> Egress | None:
        if RoomKind.STAIR in (self.kind(one), self.kind(two)):
            return Egress.STAIR
        return Egress.EXIT if _EXIT_TYPE.search(door.type_text) else None

    def _protected(self, door: BuildingDoor, one: Room, two: Room) -> tuple[Room, Room, Why]:
        """The protected side first. Each rule gives a number for a side; the higher wins."""
        deep = 1_000_000  # a room that nothing reaches is as far in as can be
        named = named_after(door.name, self.rooms)
        rules: tuple[tuple[Why, Callable[[Room], int]], ...] = (
            (Why.OPEN, lambda room: not self.is_open(room)),
            (Why.INNER, lambda room: self._depth.get(room.name, deep)),
            (Why.KIND, lambda room: self.kinds[room.name].rank),
            (Why.NAMED, lambda room: room.name == named),
            (Why.FEWER, lambda room: -self._doors_of[room.name]),
        )
        for why, number in rules:
            if number(one) != number(two):
                inside, outside = (one, two) if number(one) > number(two) else (two, one)
                return inside, outside, why
        inside, outside = sorted((one, two), key=lambda room: natural(room.name))
        return inside, outside, Why.FIRST

    def _apart(self, door: BuildingDoor, inside: Room, outside: Room) -> Apart | None:
        kind = self.kind(inside)
        if kind is RoomKind.TOILET:
            return Apart.TOILET
        if _PARTITION_TYPE.search(door.type_text) and set(inside.zones) & set(outside.zones):
            return Apart.SUITE
        same = set(inside.zones) & set(outside.zones) and not self.is_open(outside)
        return Apart.SUITE if same and kind not in _LOCKED_INSIDE else None


def only_through(plan: Plan, judged: Judged) -> bool:
    """Whether the protected room is reached only through a more restricted one: cleaners of such a
    room would need the key of the other.
    """
    if judged.inside is None or judged.outside is None or judged.why is not Why.INNER:
        return False
    inner, outer = plan.kinds[judged.inside.name], plan.kinds[judged.outside.name]
    return inner.rank < 6 <= outer.rank
