"""Construction keying with pins alone: a temporary key until the owner's keys take over.

Rules. While the building goes up a construction key opens the chosen doors, beside the owner's keys
or before they are handed out. At the changeover one chamber of each of those doors is set anew, and
the construction key opens nothing any more. The chamber is the same in all of them:

* *reserved chamber*: the construction key has a cut there that no key of the owner comes near, and
  each stack has a shear line for it until the changeover;
* *split pin*: the same with a cut shallower than the owner's in that chamber, so that the owner's
  bottom pin lies there in two pieces and the changeover puts the whole pin in.

Everywhere else the construction key has cuts that operate all chosen doors. Both methods are common
practice (no source). The cut keeps the least step from *every* key of the job, so no other key
opens more than before while the extra shear line is there, and afterwards the construction key is
kept out by that chamber in every door.

Theory of operation. Positions outside the reserved one have a few common cuts each; a walk that
respects MACS looks for one key per candidate (chamber, cut), preferring keys that share few cuts
with the widest master. Doors without pins in the reserved chamber must keep the key out elsewhere,
and no control line may come nearer than before. Both states come with chart, cuts and pins, so that
each can be proved.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from itertools import islice

from pinloom.core.bench import Part, Repin
from pinloom.core.bitting import Bitting, Level
from pinloom.core.chart import AccessChart, Key, KeyStanding
from pinloom.core.findings import Finding, caution, fault, has_fault
from pinloom.core.fitting import chamber_positions
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ControlKey
from pinloom.core.stacks import PinnedCylinder
from pinloom.pinning.controlspace import control_space
from pinloom.pinning.job import pin_job
from pinloom.pinning.parts import describe
from pinloom.pinning.walk import keys_within

KEY_NAME = "construction"
MOST_WALKED = 2_000  # keys looked at for one chamber and cut
COMPARED = 8  # construction keys of which the least burdensome is taken


class ConstructionMethod(Enum):
    """How the temporary cut lies to the owner's."""

    RESERVED_CHAMBER = "a reserved chamber"
    SPLIT_PIN = "a split pin"


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingState:
    """The job at one time: enough for a proof. ``bittings`` follow ``chart.keys``."""

    chart: AccessChart
    bittings: tuple[Bitting, ...]
    cylinders: tuple[PinnedCylinder, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Construction:
    """A construction key and both states. ``position`` (from 0) is the reserved one of the key.
    ``before`` marks the key active on its doors, ``after`` retired: it must open nothing.
    """

    name: str
    levels: Bitting
    position: int
    before: BuildingState
    after: BuildingState
    changes: tuple[Repin, ...]
    findings: tuple[Finding, ...]


Row = tuple[frozenset[Level] | None, ...]  # per key position, cuts that operate; None = no pins


@dataclass(frozen=True, slots=True, kw_only=True)
class _Site:
    """What the search works on. ``common[p]`` = cuts that operate every chosen door, None = no door
    has pins there.
    """

    key_format: HardwareFormat
    keys: tuple[Bitting, ...]
    cuts: tuple[Row, ...]  # of the chosen doors
    others: frozenset[Row]  # of all other doors
    common: Row


def construct(
    chart: AccessChart,
    key_format: HardwareFormat,
    cylinder_formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    method: ConstructionMethod,
    controls: Sequence[ControlKey] = (),
    doors: Sequence[str] | None = None,
    name: str = KEY_NAME,
) -> Construction | tuple[Finding, ...]:
    """A construction key for the named doors (None = all), or why there is none. Raises ValueError
    for unknown doors or a name that a key of the chart has.
    """
    chosen = tuple(door.name for door in chart.doors) if doors is None else tuple(doors)
    if name in chart.key_index() or not set(chosen) <= chart.door_index().keys() or not chosen:
        raise ValueError("needs doors of the chart, and a key name that is new")
    site = _site(chart, key_format, cylinder_formats, bittings, chosen)
    if isinstance(site, Finding):
        return (site,)
    masters = _widest(chart, site)
    found: list[Construction] = []
    for position, levels in _candidates(site, method, masters):
        findings, before, after = _states(
            chart, key_format, cylinder_formats, bittings, controls, (name, levels, chosen)
        )
        if has_fault(findings) or not _keeps_controls(
            (chart, bittings), before, key_format, cylinder_formats, controls
        ):
            continue
        found.append(
            Construction(
                name=name,
                levels=levels,
                position=position,
                before=before,
                after=after,
                changes=changeover(cylinder_formats, before.cylinders, after.cylinders),
                findings=(*findings, *_alike(chart, bittings, levels, position)),
            )
        )
        if len(found) == COMPARED:
            break
    if found:
        return min(found, key=_burden)
    return (fault("pinning-construction-no-chamber", method=method.value),)


def _burden(made: Construction) -> tuple[int, int]:
    """What a construction key costs: findings of the time of building, then master pins."""
    return len(made.findings), sum(one.master_pins() for one in made.before.cylinders)


def changeover(
    cylinder_formats: Sequence[HardwareFormat],
    before: Sequence[PinnedCylinder],
    after: Sequence[PinnedCylinder],
) -> tuple[Repin, ...]:
    """What to take out of and put into every chamber that changes, in door and chamber order."""
    return tuple(
        Repin(
            door=old.door,
            chamber=chamber + 1,
            out=_minus(was, now),
            into=_minus(now, was),
        )
        for made, old, new in zip(cylinder_formats, before, after, strict=True)
        for chamber, (one, other) in enumerate(zip(old.chambers, new.chambers, strict=True))
        if one != other
        for was, now in [
            (
                () if one is None else describe(one, made, chamber),
                () if other is None else describe(other, made, chamber),
            )
        ]
    )


def _minus(these: Sequence[Part], those: Sequence[Part]) -> tuple[Part, ...]:
    left = list(those)
    kept: list[Part] = []
    for part in these:
        if part in left:
            left.remove(part)
        else:
            kept.append(part)
    return tuple(kept)


def _site(
    chart: AccessChart,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    chosen: Sequence[str],
) -> _Site | Finding:
    index = chart.door_index()
    rows = [
        _door_cuts(chart, key_format, formats, bittings, door) for door in range(len(chart.doors))
    ]
    cuts = [rows[index[name]] for name in chosen]
    common: list[frozenset[Level] | None] = [None] * key_format.chambers
    for name, row in zip(chosen, cuts, strict=True):
        for position, levels in enumerate(row):
            if levels is None:
                continue
            before = common[position]
            both = levels if before is None else before & levels
            if not both and not _may_reserve(cuts, position):
                return fault("pinning-construction-no-cut", position=position + 1, door=name)
            common[position] = both
    return _Site(
        key_format=key_format,
        keys=tuple(bittings),
        cuts=tuple(cuts),
        others=frozenset(
            row for door, row in zip(chart.doors, rows, strict=True) if door.name not in set(chosen)
        ),
        common=tuple(common),
    )


def _may_reserve(cuts: Sequence[Row], position: int) -> bool:
    """A chamber without a common cut can still be the reserved one, if every door has pins in it
    and it is the only one without.
    """
    return all(row[position] for row in cuts) and all(
        frozenset.intersection(*levels)
        for other in range(len(cuts[0]))
        if other != position
        and (levels := [row[other] or frozenset() for row in cuts if row[other]])
    )


def _door_cuts(
    chart: AccessChart,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    door: int,
) -> Row:
    """The cuts that operate a door."""
    keys = [
        bittings[k] for k in chart.openers[door] if chart.keys[k].standing is KeyStanding.ACTIVE
    ]
    places = chamber_positions(key_format, formats[door]) or ()
    pinned = {
        place
        for chamber, place in enumerate(places, start=1)
        if chamber not in chart.doors[door].unpinned
    }
    return tuple(
        frozenset(key[p] for key in keys) if p in pinned and keys else None
        for p in range(key_format.chambers)
    )


def _widest(chart: AccessChart, site: _Site) -> Bitting | None:
    """Cuts of the key that opens the most doors, the first of several."""
    opened = [len(doors) for doors in chart.doors_of()]
    if not opened or max(opened) == 0:
        return None
    return site.keys[opened.index(max(opened))]


def _candidates(
    site: _Site, method: ConstructionMethod, master: Bitting | None
) -> Iterator[tuple[int, Bitting]]:
    """Construction keys to try, chamber by chamber; in each the least like the widest master."""
    for position in range(site.key_format.chambers):
        if any(row[position] is None for row in site.cuts):
            continue
        for level in _temporary(site, method, position):
            best: tuple[int, Bitting] | None = None
            for levels in _keys_with(site, position, level):
                alike = sum(a == b for a, b in zip(levels, master or (), strict=False))
                if best is None or alike < best[0]:
                    best = (alike, levels)
            if best is not None:
                yield position, best[1]


def _temporary(site: _Site, method: ConstructionMethod, position: int) -> Iterator[Level]:
    """Cuts at a position that no key of the job comes near; for a split pin shallower than all."""
    made = site.key_format
    theirs = {key[position] for key in site.keys}
    shallowest = min(min(row[position] or ()) for row in site.cuts)
    for level in range(made.levels):
        if min(abs(level - other) for other in theirs) < made.least_step:
            continue
        if method is ConstructionMethod.RESERVED_CHAMBER or level < shallowest:
            yield level


def _keys_with(site: _Site, position: int, level: Level) -> Iterator[Bitting]:
    """Keys that keep MACS with this cut there and common cuts elsewhere, the first MOST_WALKED."""
    made = site.key_format
    choices = [
        (level,) if p == position else tuple(sorted(range(made.levels) if c is None else c))
        for p, c in enumerate(site.common)
    ]
    for key in islice(keys_within(choices, made.macs), MOST_WALKED):
        if key not in site.keys and not any(_opens(site, row, key) for row in site.others):
            yield key


def _opens(site: _Site, row: Row, key: Bitting) -> bool:
    """Whether a key comes near in every chamber of a door."""
    return all(
        cuts is None or min(abs(cut - own) for own in cuts) < site.key_format.least_step
        for cut, cuts in zip(key, row, strict=True)
    )


def _states(
    chart: AccessChart,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
    bittings: Sequence[Bitting],
    controls: Sequence[ControlKey],
    key: tuple[str, Bitting, Sequence[str]],
) -> tuple[tuple[Finding, ...], BuildingState, BuildingState]:
    """What pinning says, and both states with their charts."""
    name, levels, doors = key
    opens = {
        door.name: [chart.keys[k].name for k in marks]
        for door, marks in zip(chart.doors, chart.openers, strict=True)
    }
    cuts = {one.name: cut for one, cut in zip(chart.keys, bittings, strict=True)} | {name: levels}
    temporary = Key(name=name)
    while_building = {d: [*keys, name] if d in set(doors) else keys for d, keys in opens.items()}
    states: list[BuildingState] = []
    findings: list[Finding] = []
    for one, marks in (
        (temporary, while_building),
        (replace(temporary, standing=KeyStanding.RETIRED), opens),
    ):
        made = AccessChart.build(chart.doors, [*chart.keys, one], marks, chart.blanks)
        ordered = tuple(cuts[known.name] for known in made.keys)
        pinned = pin_job(made, key_format, formats, ordered, controls)
        findings += [found for found in pinned.findings if not states]
        states.append(BuildingState(chart=made, bittings=ordered, cylinders=pinned.cylinders))
    return tuple(findings), states[0], states[1]


def _keeps_controls(
    now: tuple[AccessChart, Sequence[Bitting]],
    before: BuildingState,
    key_format: HardwareFormat,
    formats: Sequence[HardwareFormat],
    controls: Sequence[ControlKey],
) -> bool:
    """Whether the construction key leaves every control line as far from all keys as it must be."""
    for place, control in enumerate(controls):
        group = control.group if len(controls) > 1 or control.group else None
        others = [*controls[:place], *controls[place + 1 :]]
        margins = [
            control_space(chart, key_format, formats, bittings, group, others).margin(
                control.levels
            )
            for chart, bittings in (now, (before.chart, before.bittings))
        ]
        if margins[1] < min(margins[0], key_format.least_step):
            return False
    return True


def _alike(
    chart: AccessChart, bittings: Sequence[Bitting], levels: Bitting, position: int
) -> Iterator[Finding]:
    for key, cuts in zip(chart.keys, bittings, strict=True):
        if all(a == b for p, (a, b) in enumerate(zip(cuts, levels, strict=True)) if p != position):
            yield caution("pinning-construction-alike", key=key.name, position=position + 1)
