"""A building's handover records to a first keying schedule, and the keying back to them."""

from pinloom.draft.building import Building, BuildingDoor, BuildingRead, Room
from pinloom.draft.drafted import DraftSchedule, Grouping, Question
from pinloom.draft.give_back import give_back
from pinloom.draft.read import read_building
from pinloom.draft.schedule import make_schedule
from pinloom.draft.write import write_schedule

__all__ = [
    "Building",
    "BuildingDoor",
    "BuildingRead",
    "DraftSchedule",
    "Grouping",
    "Question",
    "Room",
    "give_back",
    "make_schedule",
    "read_building",
    "write_schedule",
]
