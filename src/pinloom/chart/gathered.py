"""What the forms hand over: doors, keys and marks with their places, before the common checks."""

from dataclasses import dataclass, field

from pinloom.core.chart import Door, Key
from pinloom.core.findings import Place


@dataclass(slots=True)
class Gathered:
    """One chart being read. ``doubtful`` doors and keys already have a fault of their own, so
    checks on them would only repeat it.
    """

    doors: dict[str, Door] = field(default_factory=dict)
    door_places: dict[str, Place] = field(default_factory=dict)
    keys: dict[str, Key] = field(default_factory=dict)
    key_places: dict[str, Place] = field(default_factory=dict)
    opens: dict[str, set[str]] = field(default_factory=dict)  # door -> keys
    doubtful_doors: set[str] = field(default_factory=set)
    doubtful_keys: set[str] = field(default_factory=set)

    def add_door(self, door: Door, place: Place, openers: set[str]) -> None:
        """A door with the keys that open it."""
        self.doors[door.name] = door
        self.door_places[door.name] = place
        self.opens[door.name] = openers

    def add_key(self, key: Key, place: Place) -> None:
        """A key, whether it opens anything or not."""
        self.keys[key.name] = key
        self.key_places[key.name] = place
