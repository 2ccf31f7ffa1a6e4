"""Which cut of a key meets which chamber of a cylinder.

Two formats of one family may meet in one job (six-chamber keys in five-chamber cylinders). Their
positions match by distance from the stop, never by index: one family's sixth cut lies at the bow,
another's at the tip.
"""

from pinloom.core.hardware import HardwareFormat


def same_family(key: HardwareFormat, cylinder: HardwareFormat) -> bool:
    """Whether a key of one format may be used in a cylinder of the other at all."""
    return (
        key.stop is cylinder.stop
        and key.step == cylinder.step
        and tuple(d.root for d in key.depths) == tuple(d.root for d in cylinder.depths)
    )


def chamber_positions(key: HardwareFormat, cylinder: HardwareFormat) -> tuple[int, ...] | None:
    """For each chamber of the cylinder, the index of the key's cut that meets it.

    None when the formats are of different families or a chamber has no cut at its place.
    """
    if key is cylinder:  # the usual case, asked once a door
        return tuple(range(key.chambers))
    if not same_family(key, cylinder):
        return None
    places = {distance: i for i, distance in enumerate(key.positions())}
    found = [places.get(distance) for distance in cylinder.positions()]
    if any(i is None for i in found):
        return None
    return tuple(i for i in found if i is not None)
