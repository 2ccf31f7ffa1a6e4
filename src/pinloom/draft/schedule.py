"""A building to a first keying schedule.

One change key a room, its doors keyed alike; all outer doors into open areas share one key; a
master for each department or floor with at least two change keys, because a master over one key
would be that key again; a top master over all. With both groupings, departments are the masters and
the floor keys are listed at each door, since a key stands under one master only.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.findings import Place, fault, note
from pinloom.core.names import natural
from pinloom.draft.building import Building, Room
from pinloom.draft.drafted import DraftDoor, DraftKey, DraftSchedule, Grouping
from pinloom.draft.judged import Judged, Plan
from pinloom.draft.questions import ask
from pinloom.draft.services import Service, ServiceDoor, service_doors
from pinloom.draft.words import ENTRANCE_NOTE, FLOOR_NOTE, MASTER_NOTE, SERVICE_NOTES, TOP_NOTE

TOP, ENTRANCE, FLOOR = "TOP", "ENTRANCE", "FLOOR"
#: letters of masters; I and O look like figures, and X is kept for cross-keying
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWYZ"


def make_schedule(
    building: Building, by: Grouping = Grouping.ZONE, *, services: bool = True
) -> DraftSchedule:
    """Draft the schedule. Without ``services`` no service keys are proposed."""
    plan = Plan(building)
    judged = [plan.judge(door) for door in building.doors]
    keyed = [one for one in judged if one.apart is None]
    rooms = _rooms_with_locks(plan, keyed)
    masters, master_of = _masters(plan, rooms, by)
    change_keys = _change_keys(rooms, master_of)
    floors = _floor_keys(building, rooms) if by is Grouping.BOTH else {}
    proposed, dropped = _services(plan, keyed, services, change_keys, masters, master_of)
    doors = _doors(plan, keyed, change_keys, floors, proposed)
    keys = _keys(rooms, change_keys, master_of, masters, floors, proposed, doors)
    findings = [note("draft-service-same", key=key, other=other) for key, other in dropped]
    chart = _chart(doors, keys)
    if chart is None:
        findings.append(fault("draft-nothing-to-key", Place(file=building.name)))
    return DraftSchedule(
        building=building.name,
        source=building.source,
        grouping=by,
        doors=doors,
        apart=tuple(one for one in judged if one.apart is not None),
        keys=keys,
        services=proposed,
        questions=ask(plan, judged, by, dict(masters), proposed),
        chart=chart,
        findings=tuple(findings),
    )


def _rooms_with_locks(plan: Plan, keyed: Iterable[Judged]) -> tuple[Room, ...]:
    """The closed rooms that a cylinder protects, in natural order."""
    rooms = {
        one.inside.name: one.inside
        for one in keyed
        if one.inside is not None and not plan.is_open(one.inside)
    }
    return tuple(rooms[name] for name in sorted(rooms, key=natural))


def _masters(
    plan: Plan, rooms: Sequence[Room], by: Grouping
) -> tuple[tuple[tuple[str, str], ...], Mapping[str, str]]:
    """(master, group) pairs, and room -> master; groups of one room have no master."""
    groups: dict[str, list[Room]] = defaultdict(list)
    for room in rooms:
        group = room.floor if by is Grouping.FLOOR else plan.department(room)
        groups[group].append(room)
    names = [name for name in sorted(groups, key=natural) if name and len(groups[name]) > 1]
    if by is Grouping.FLOOR:
        names.sort(key=plan.building.floors.index)
    masters = tuple(zip(_symbols(), names, strict=False))
    of_room = {room.name: master for master, group in masters for room in groups[group]}
    return masters, of_room


def _symbols() -> Iterator[str]:
    """AA, AB, ... AZ, BA, ...: masters of standard key coding; change keys add a number."""
    for first, second in product(_LETTERS, repeat=2):
        yield first + second


def _change_keys(rooms: Sequence[Room], master_of: Mapping[str, str]) -> Mapping[str, str]:
    """Room -> its change key: AA1, AA2 under AA; A1, A2 for rooms under the top alone."""
    numbers: dict[str, int] = defaultdict(int)
    keys: dict[str, str] = {}
    for room in rooms:
        letters = master_of.get(room.name, "A")
        numbers[letters] += 1
        keys[room.name] = f"{letters}{numbers[letters]}"
    return keys


def _floor_keys(building: Building, rooms: Sequence[Room]) -> Mapping[str, str]:
    """Floor -> its key, for floors with at least two change keys, from the lowest up."""
    used = [sum(room.floor == floor for room in rooms) for floor in building.floors]
    floors = [floor for floor, count in zip(building.floors, used, strict=True) if count > 1]
    if len(floors) < 2:
        return {}  # the key of an only floor would be the top master again
    return {floor: f"{FLOOR}{number}" for number, floor in enumerate(floors, start=1)}


def _services(
    plan: Plan,
    keyed: Sequence[Judged],
    wanted: bool,
    change_keys: Mapping[str, str],
    masters: Sequence[tuple[str, str]],
    master_of: Mapping[str, str],
) -> tuple[tuple[ServiceDoor, ...], list[tuple[str, str]]]:
    """The service keys worth proposing, and those that another key already is."""
    if not wanted:
        return (), []
    lines = service_doors(plan, keyed)
    sets = _door_sets(plan, keyed, change_keys, masters, master_of)
    dropped: list[tuple[str, str]] = []
    kept: set[Service] = set()
    for service in Service:
        opened = frozenset(
            line.judged.door.name for line in lines if line.service is service and line.opens
        )
        if opened in sets:
            dropped.append((service.value, sets[opened]))
        elif opened:
            kept.add(service)
            sets[opened] = service.value
    return tuple(line for line in lines if line.service in kept), dropped


def _door_sets(
    plan: Plan,
    keyed: Sequence[Judged],
    change_keys: Mapping[str, str],
    masters: Sequence[tuple[str, str]],
    master_of: Mapping[str, str],
) -> dict[frozenset[str], str]:
    """Doors of every change key and master -> the key, to see which service key adds nothing."""
    doors: dict[str, set[str]] = defaultdict(set)
    for one in keyed:
        assert one.inside is not None
        key = _lowest(plan, one, change_keys)
        doors[key].add(one.door.name)
        doors[TOP].add(one.door.name)
        master = master_of.get(one.inside.name)
        if master and key != ENTRANCE:
            doors[master].add(one.door.name)
    order = [TOP, *(master for master, _ in masters), *sorted(doors, key=natural)]
    return {frozenset(doors[key]): key for key in reversed(order) if doors[key]}


def _lowest(plan: Plan, one: Judged, change_keys: Mapping[str, str]) -> str:
    """The change key of the protected room; one key for outer doors into open areas."""
    assert one.inside is not None
    return ENTRANCE if plan.is_open(one.inside) else change_keys[one.inside.name]


def _doors(
    plan: Plan,
    keyed: Sequence[Judged],
    change_keys: Mapping[str, str],
    floors: Mapping[str, str],
    services: Sequence[ServiceDoor],
) -> tuple[DraftDoor, ...]:
    extra: dict[str, list[str]] = defaultdict(list)
    for line in services:
        if line.opens:
            extra[line.judged.door.name].append(line.service.value)
    doors: list[DraftDoor] = []
    for one in keyed:
        assert one.inside is not None
        lowest = _lowest(plan, one, change_keys)
        keys = [lowest, *extra[one.door.name]]
        if one.inside.floor in floors and lowest != ENTRANCE:
            keys.insert(1, floors[one.inside.floor])
        doors.append(
            DraftDoor(
                judged=one,
                keys=tuple(keys),
                department=plan.department(one.inside),
                floor=one.inside.floor,
            )
        )
    return tuple(doors)


def _keys(
    rooms: Sequence[Room],
    change_keys: Mapping[str, str],
    master_of: Mapping[str, str],
    masters: Sequence[tuple[str, str]],
    floors: Mapping[str, str],
    services: Sequence[ServiceDoor],
    doors: Sequence[DraftDoor],
) -> tuple[DraftKey, ...]:
    """All keys from the top down; ENTRANCE only where a door has it."""
    keys = [DraftKey(name=TOP, under="", note=TOP_NOTE)]
    keys += [
        DraftKey(name=master, under=TOP, note=MASTER_NOTE.format(group=group))
        for master, group in masters
    ]
    keys += [
        DraftKey(name=key, under=TOP, note=FLOOR_NOTE.format(floor=floor))
        for floor, key in floors.items()
    ]
    used = {line.service for line in services}
    keys += [
        DraftKey(name=service.value, under=TOP, note=SERVICE_NOTES[service])
        for service in Service
        if service in used
    ]
    if any(ENTRANCE in door.keys for door in doors):
        keys.append(DraftKey(name=ENTRANCE, under=TOP, note=ENTRANCE_NOTE))
    keys += [
        DraftKey(
            name=change_keys[room.name],
            under=master_of.get(room.name, TOP),
            note=room.label,
        )
        for room in rooms
    ]
    return tuple(keys)


def _chart(doors: Sequence[DraftDoor], keys: Sequence[DraftKey]) -> AccessChart | None:
    """The access chart that the sheets mean; reading them back gives exactly this."""
    if not doors:
        return None
    under = {key.name: key.under for key in keys}
    opens: dict[str, set[str]] = {}
    for door in doors:
        openers = set(door.keys)
        for lowest in door.keys:
            above = under[lowest]
            while above:
                openers.add(above)
                above = under[above]
        opens[door.judged.door.name] = openers
    return AccessChart.build(
        [Door(name=name) for name in opens],
        [Key(name=key.name, under=key.under, note=key.note) for key in keys],
        opens,
    )
