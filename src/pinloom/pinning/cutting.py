"""Key cutting data: where each cut lies, how deep, and on what blank.

Rules. Distances are from the format's stop to the centre of the cut. Cuts are made in the format's
reading order. A blank must reach the farthest cut that any door of the key checks: a key whose
doors all have shorter cylinders of the family may go on a shorter blank when its stop is at the
bow. Neighbouring cuts within one step of MACS leave a thin peak, which is said.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from pinloom.core.bench import CutPlace, KeyCutting
from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Key
from pinloom.core.findings import Finding, caution
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat, Stop
from pinloom.core.job import ControlKey
from pinloom.pinning.controls import control_name


def key_cutting(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey] = (),
) -> tuple[KeyCutting, ...]:
    """One record a key in chart order, then one a control key."""
    checked = [_checked(key_format, made) for made in cylinder_formats]
    keys = [
        _record(
            key_format,
            key,
            bittings[number],
            set().union(*(checked[door] for door in doors)),
        )
        for number, (key, doors) in enumerate(zip(chart.keys, chart.doors_of(), strict=True))
    ]
    return (
        *keys,
        *(
            _record(key_format, Key(name=control_name(one.group), copies=None), one.levels, set())
            for one in controls
        ),
    )


def near_macs(key_format: HardwareFormat, cutting: Sequence[KeyCutting]) -> tuple[Finding, ...]:
    """A caution for every key with neighbouring cuts within one step of MACS."""
    return tuple(
        caution(
            "pinning-near-macs",
            key=one.key,
            positions=", ".join(f"{p} and {p + 1}" for p in one.tight),
            macs=key_format.macs,
        )
        for one in cutting
        if one.tight
    )


def _record(made: HardwareFormat, key: Key, levels: Bitting, checked: set[int]) -> KeyCutting:
    places = made.positions()
    needed = checked or set(range(made.chambers))
    # A blank that stops at the tip is as long as its bow is far, whatever is cut.
    farthest = max(
        places[p] for p in (needed if made.stop is Stop.SHOULDER else range(len(places)))
    )
    return KeyCutting(
        key=key.name,
        blank=key.blank,
        copies=key.copies,
        stamped=made.stamp(levels),
        cuts=tuple(_cuts(made, levels)),
        reach=farthest,
        blank_length=made.dimensions.blank_length,
        cuts_needed=sum(place <= farthest for place in places),
        tight=tuple(
            p for p, (a, b) in enumerate(pairwise(levels), start=1) if abs(a - b) >= made.macs - 1
        ),
    )


def _cuts(made: HardwareFormat, levels: Bitting) -> Iterator[CutPlace]:
    for position, (level, distance) in enumerate(
        zip(levels, made.positions(), strict=True), start=1
    ):
        depth = made.depths[level]
        yield CutPlace(position=position, stamped=depth.stamped, distance=distance, root=depth.root)


def _checked(key_format: HardwareFormat, made: HardwareFormat) -> set[int]:
    """Cuts of a key that a cylinder checks; none when the key does not fit it."""
    return set(chamber_positions(key_format, made) or ())
