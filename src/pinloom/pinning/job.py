"""All cylinders of a job: from the chart and the cuts of its keys to the pins in every door.

Theory of operation. A chamber is pinned for the cuts of the keys that open its door, at the place
where those cuts meet it (``core.fitting``: by distance from the stop, not by index). Doors that
share openers, hardware, unpinned chambers and control key have the same pins, worked out once; so
is every stack, because a large job repeats few of them in many doors.

Must stay in sync with ``design.problem``: there, too, a lock splits on its own keys' levels only.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pinloom.core.bitting import Bitting, Level
from pinloom.core.chart import AccessChart, Door, KeyStanding
from pinloom.core.findings import Finding, fault
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.pinning.build import stack_for
from pinloom.pinning.controls import control_of
from pinloom.pinning.cutsets import CutSets
from pinloom.pinning.faults import sign_off, stack_faults

Chambers = tuple[PinStack | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinned:
    """The pins of every door, in chart order, and what was found. With a fault the pins are still
    given, as near as they can be, so that a person sees what is meant.
    """

    cylinders: tuple[PinnedCylinder, ...]
    findings: tuple[Finding, ...]


def pin_job(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey] = (),
    *,
    secure: bool = False,
) -> Pinned:
    """Pins for every door. ``bittings[k]`` belongs to ``chart.keys[k]``, ``cylinder_formats[d]`` to
    ``chart.doors[d]``. ``secure`` = use security drivers wherever the format allows them. Raises
    ValueError when the lists are not as long as the chart.
    """
    if len(cylinder_formats) != len(chart.doors) or len(bittings) != len(chart.keys):
        raise ValueError("one format a door and one bitting a key")
    active = [key.standing is KeyStanding.ACTIVE for key in chart.keys]
    every = all(active)
    stacks = _Stacks(bittings, secure=secure)
    formats = {id(made): made for made in cylinder_formats}
    places = {number: chamber_positions(key_format, made) for number, made in formats.items()}
    known: dict[tuple[object, ...], tuple[Chambers, bool]] = {}
    cylinders: list[PinnedCylinder] = []
    findings: list[Finding] = list(_missing_controls(chart, cylinder_formats, controls))
    for door, marks, made in zip(chart.doors, chart.openers, cylinder_formats, strict=True):
        openers = marks if every else tuple(k for k in marks if active[k])
        positions = places[id(made)]
        said = tuple(_door_faults(door, openers, key_format, made, fits=positions is not None))
        findings.extend(said)
        if said or positions is None:
            # An empty cylinder opens for everything, which no proof will let pass.
            cylinders.append(PinnedCylinder(door=door.name, chambers=(None,) * made.chambers))
            continue
        control = control_of(controls, door.core_group) if made.core else None
        case = (openers, made.name, door.unpinned, control and control.levels)
        if case not in known:
            known[case] = stacks.of(made, positions, door.unpinned, openers, control)
        chambers, remarkable = known[case]
        cylinder = PinnedCylinder(door=door.name, chambers=chambers)
        cylinders.append(cylinder)
        if remarkable:
            findings.extend(stack_faults(made, cylinder) + sign_off(cylinder))
    return Pinned(cylinders=tuple(cylinders), findings=tuple(findings))


class _Stacks:
    """The stacks of a job, each built and looked at once."""

    def __init__(self, bittings: Sequence[Bitting], *, secure: bool) -> None:
        self._cuts = CutSets(bittings)
        self._secure = secure
        self._known: dict[tuple[str, int, int, Level | None], tuple[PinStack, bool]] = {}

    def of(
        self,
        made: HardwareFormat,
        positions: Sequence[int],
        unpinned: Sequence[int],
        openers: Sequence[int],
        control: ControlKey | None,
    ) -> tuple[Chambers, bool]:
        """The pins of a cylinder, and whether there is anything to say about any of them."""
        chambers: list[PinStack | None] = []
        remarkable = False
        bits = self._cuts.at(self._cuts.of(openers), positions)
        for chamber, (position, cuts) in enumerate(zip(positions, bits, strict=True)):
            if unpinned and chamber + 1 in unpinned:
                chambers.append(None)
                continue
            level = None if control is None else control.levels[position]
            case = (made.name, chamber, cuts, level)
            found = self._known.get(case)
            if found is None:
                found = self._known[case] = self._built(made, chamber, cuts, level)
            stack, said = found
            chambers.append(stack)
            remarkable = remarkable or said
        return tuple(chambers), remarkable

    def _built(
        self, made: HardwareFormat, chamber: int, cuts: int, level: Level | None
    ) -> tuple[PinStack, bool]:
        stack = stack_for(made, chamber, self._cuts.levels(cuts), level, secure=self._secure)
        alone = PinnedCylinder(door="", chambers=(*(None,) * chamber, stack))
        return stack, bool(stack_faults(made, alone) or sign_off(alone))


def _door_faults(
    door: Door,
    openers: Sequence[int],
    key_format: HardwareFormat,
    made: HardwareFormat,
    *,
    fits: bool,
) -> Iterator[Finding]:
    """Why a door cannot be pinned at all."""
    if not fits:
        yield fault(
            "pinning-foreign-keys", door=door.name, keys=key_format.name, cylinder=made.name
        )
    if not openers:
        yield fault("pinning-no-keys", door=door.name)
    if not door.unpinned:
        return
    stray = sorted(set(door.unpinned) - set(range(1, made.chambers + 1)))
    if stray:
        yield fault(
            "pinning-no-such-chamber",
            door=door.name,
            chamber=" ".join(map(str, stray)),
            chambers=made.chambers,
        )
    elif len(set(door.unpinned)) == made.chambers:
        yield fault("pinning-all-unpinned", door=door.name)


def _missing_controls(
    chart: AccessChart, formats: Sequence[HardwareFormat], controls: Sequence[ControlKey]
) -> Iterator[Finding]:
    """Core groups without a control key, each said once with its first door."""
    seen: set[str] = set()
    for door, made in zip(chart.doors, formats, strict=True):
        group = door.core_group
        if made.core is None or group in seen or control_of(controls, group) is not None:
            continue
        seen.add(group)
        name = f"control:{group}" if group else "control"
        yield fault("pinning-no-control", door=door.name, control=name)
