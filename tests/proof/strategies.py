"""Random tiny jobs: mostly pinned as the chart asks, often a little wrong."""

from dataclasses import dataclass

from hypothesis import strategies as st

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Blank, Door, Key, KeyStanding
from pinloom.core.hardware import CoreKind, HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder, PinStack
from tests.proof.formats import core, tiny


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One random job."""

    chart: AccessChart
    made: HardwareFormat
    bittings: tuple[Bitting, ...]
    controls: tuple[ControlKey, ...]
    pinning: tuple[PinnedCylinder, ...]


@st.composite
def cases(draw: st.DrawFn, cores: bool = False) -> Case:
    """Up to 4 doors and 5 keys on 2-3 chambers of 3-5 depths."""
    chambers, depths = draw(st.integers(2, 3)), draw(st.integers(3, 5))
    least = draw(st.sampled_from([1, 1, 2]))
    made = _core(draw, chambers, depths, least) if cores else _plain(draw, chambers, depths, least)
    groups = ["", "east"] if cores else [""]
    bitting = st.tuples(*[st.integers(0, depths - 1)] * chambers)
    keys = [
        Key(
            name=f"k{i}",
            standing=draw(st.sampled_from([KeyStanding.ACTIVE] * 4 + list(KeyStanding))),
            blank=draw(st.sampled_from(["", "", "narrow", "wide"])),
        )
        for i in range(draw(st.integers(1, 5)))
    ]
    doors = [
        Door(
            name=f"d{i}",
            keyway=draw(st.sampled_from(["", "", "A", "B"])),
            core_group=draw(st.sampled_from(groups)),
        )
        for i in range(draw(st.integers(1, 4)))
    ]
    names = [key.name for key in keys]
    chart = AccessChart.build(
        doors,
        keys,
        {door.name: draw(st.lists(st.sampled_from(names), unique=True)) for door in doors},
        [Blank(name="narrow", enters=("A",)), Blank(name="wide", enters=("A", "B"))],
    )
    bittings = tuple(draw(bitting) for _ in keys)
    controls = tuple(ControlKey(group=g, levels=draw(bitting)) for g in groups) if cores else ()
    pinning = tuple(
        _cylinder(draw, chart, d, bittings, controls, made) for d in range(len(chart.doors))
    )
    return Case(chart=chart, made=made, bittings=bittings, controls=controls, pinning=pinning)


def _plain(draw: st.DrawFn, chambers: int, depths: int, least: int) -> HardwareFormat:
    return tiny(chambers, depths, least_step=least, lengths=draw(st.booleans()))


def _core(draw: st.DrawFn, chambers: int, depths: int, least: int) -> HardwareFormat:
    if draw(st.booleans()):
        return core(CoreKind.SMALL, chambers=chambers, depths=depths, least_step=least)
    where = draw(st.sampled_from([(0,), (1,), (0, 1)]))
    return core(
        CoreKind.LARGE,
        chambers=chambers,
        depths=depths,
        least_step=least,
        control_chambers=where,
    )


def _cylinder(
    draw: st.DrawFn,
    chart: AccessChart,
    door: int,
    bittings: tuple[Bitting, ...],
    controls: tuple[ControlKey, ...],
    made: HardwareFormat,
) -> PinnedCylinder:
    chambers: list[PinStack | None] = []
    group = chart.doors[door].core_group
    control = next((c.levels for c in controls if c.group == group), None)
    for chamber in range(made.chambers):
        if draw(st.integers(0, 11)) == 0:
            chambers.append(None)
            continue
        cuts = {bittings[key][chamber] for key in chart.openers[door]}
        if not cuts or draw(st.integers(0, 7)) == 0:
            cuts.add(draw(st.integers(0, made.levels - 1)))
        ordered = sorted(cuts)
        pins = tuple(b - a for a, b in zip(ordered, ordered[1:], strict=False))
        buildup = None
        if made.core and control and chamber in made.core.control_chambers:
            buildup = control[chamber] + made.core.offset - ordered[-1]
            buildup += draw(st.sampled_from([0] * 9 + [1]))
        chambers.append(PinStack(bottom=ordered[0], masters=pins, buildup=buildup))
    return PinnedCylinder(door=chart.doors[door].name, chambers=tuple(chambers))
