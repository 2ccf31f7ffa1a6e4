"""The open questions of a draft: what the records do not say, and what was assumed instead."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from pinloom.core.names import natural
from pinloom.draft.building import Room
from pinloom.draft.drafted import Grouping, Question
from pinloom.draft.judged import Apart, Judged, Plan, Why, only_through
from pinloom.draft.kinds import RoomKind
from pinloom.draft.services import Service, ServiceDoor
from pinloom.draft.shape import listed

_GUARDED = (RoomKind.MEDICINES, RoomKind.RECORDS, RoomKind.MONEY)


def ask(
    plan: Plan,
    judged: Sequence[Judged],
    by: Grouping,
    masters: Mapping[str, str],
    services: Sequence[ServiceDoor],
) -> tuple[Question, ...]:
    """All questions, those about single doors first. ``masters`` = master -> its group."""
    keyed = [one for one in judged if one.apart is None]
    rooms = {one.inside.name: one.inside for one in keyed if one.inside is not None}
    ordered = [rooms[name] for name in sorted(rooms, key=natural)]
    return (
        *(question for one in judged for question in _about_door(plan, one)),
        *(question for room in ordered for question in _about_room(plan, room, by)),
        *_about_groups(plan, ordered, by, frozenset(masters.values())),
        *_about_services(services),
        *_about_apart(judged),
        *_about_everything(),
    )


def _about_door(plan: Plan, one: Judged) -> Iterator[Question]:
    name = one.door.name
    if one.apart is Apart.NOWHERE:
        yield Question(
            about=name,
            question="Which rooms does this door join? The records name none.",
            assumed="no cylinder",
        )
    if one.why is Why.ONLY and one.apart is None and one.inside is not None:
        yield Question(
            about=name,
            question=f"Does it lead outdoors? The records name {one.inside.label} alone.",
            assumed="an outer door",
        )
    if one.why is Why.FIRST and one.apart is None and one.inside is not None:
        other = one.outside.label if one.outside else ""
        yield Question(
            about=name,
            question=f"Which side is protected, {one.inside.label} or {other}?",
            assumed=one.inside.label,
        )
    between = {RoomKind.STAIR, RoomKind.LIFT}
    sides = [room for room in (one.inside, one.outside) if room is not None]
    floors = {room.floor for room in sides if room.floor}
    clash = len(floors) > 1 and not between & {plan.kind(room) for room in sides}
    if clash and one.inside is not None and one.outside is not None:
        yield Question(
            about=name,
            question=f"It joins {one.inside.label} on {one.inside.floor} with "
            f"{one.outside.label} on {one.outside.floor}. Which room is meant?",
            assumed="as the records say",
        )
    if only_through(plan, one) and one.inside is not None and one.outside is not None:
        yield Question(
            about=name,
            question=f"{one.inside.label} is reached only through {one.outside.label} "
            f"({plan.kind(one.outside).value}). Is that so, and who goes there?",
            assumed="the key of the inner room does not open the outer one",
        )


def _about_room(plan: Plan, room: Room, by: Grouping) -> Iterator[Question]:
    kind = plan.kinds[room.name]
    departments = [zone for zone in room.zones if zone == plan.department(room)] + [
        zone for zone in room.zones if zone != plan.department(room)
    ]
    if len(room.zones) > 1 and by is not Grouping.FLOOR:
        yield Question(
            about=room.label,
            question=f"It belongs to {' and '.join(room.zones)}. Whose master opens it?",
            assumed=departments[0],
        )
    if kind.rank > 5 and kind.because == "category":
        yield Question(
            about=room.label,
            question=f'Its category, "{room.category}", was read as {kind.kind.value}. Is that so?',
            assumed=kind.kind.value,
        )
    if kind.kind in _GUARDED:
        yield Question(
            about=room.label,
            question=f"It was read as {kind.kind.value}. Shall the masters above open it, or "
            "its own key alone?",
            assumed="the masters open it; write NMK under except to keep them out",
        )


def _about_groups(
    plan: Plan, rooms: Sequence[Room], by: Grouping, mastered: frozenset[str]
) -> Iterator[Question]:
    groups: dict[str, list[str]] = defaultdict(list)
    for room in rooms:
        if not plan.is_open(room):
            group = room.floor if by is Grouping.FLOOR else plan.department(room)
            groups[group].append(room.label)
    loose = groups.pop("", [])
    what = "floor" if by is Grouping.FLOOR else "department"
    if loose:
        yield Question(
            about=listed(loose),
            question=f"To which {what} do these rooms belong? The records name none.",
            assumed="the top master alone is above them",
        )
    for group in sorted(groups.keys() - mastered, key=natural):
        yield Question(
            about=group,
            question=f"Shall {group} have a master? It has one keyed room, {groups[group][0]}.",
            assumed="no master; one is wanted once it has a second room",
        )


def _about_services(services: Sequence[ServiceDoor]) -> Iterator[Question]:
    for service in Service:
        lines = [line for line in services if line.service is service]
        if not lines:
            continue
        opened = sum(line.opens for line in lines)
        yield Question(
            about=service.value,
            question=f"Is this key wanted? It opens {opened} doors and leaves "
            f"{len(lines) - opened} out; the sheet service keys says which and why.",
            assumed="wanted, as listed",
        )


def _about_apart(judged: Sequence[Judged]) -> Iterator[Question]:
    for apart, text in (
        (Apart.OPEN, "Is any of these doors locked at night or between tenants?"),
        (Apart.SUITE, "Does any of these doors need a lock of its own?"),
    ):
        names = [one.door.name for one in judged if one.apart is apart]
        if names:
            yield Question(about=listed(names), question=text, assumed=apart.value)


def _about_everything() -> Iterator[Question]:
    yield Question(
        about="the building",
        question="Which doors are fire doors or on a way out? Who is the authority having "
        "jurisdiction?",
        assumed="only what the records show is marked",
    )
    yield Question(
        about="the building",
        question="Is there a fire-service key box, and who puts the new keys into it before the "
        "rekey?",
        assumed="not part of the draft",
    )
    yield Question(
        about="the building",
        question="Which doors are opened by something other than a key (cards, codes, timers)?",
        assumed="none",
    )
    yield Question(
        about="all keys",
        question="How many copies of each key, and who holds them?",
        assumed="not said; fill the column copies in the sheet keys",
    )
