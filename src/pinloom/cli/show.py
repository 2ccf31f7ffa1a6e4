"""A job on the screen: figures, cuts, pins, parts, and what to keep in mind.

Everything is told in the words and numbers of the bench: depths as stamped, chambers counted from 1
in the format's reading order, lengths in inch and millimetres where the format gives them.
"""

from collections.abc import Iterable, Sequence
from pathlib import Path

from pinloom import messages
from pinloom.cli.screen import Screen
from pinloom.core.bench import Part, PartKind
from pinloom.core.chart import KeyStanding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import FaultKind, Job, Margin
from pinloom.core.stacks import PinnedCylinder
from pinloom.messages.cautions import BEFORE_THE_WORK
from pinloom.messages.words import CLAIMS, FAULTS, PARTS
from pinloom.workflow.folder import Saved
from pinloom.workflow.pinchart import describe_cylinder
from pinloom.workflow.summary import Summary
from pinloom.workflow.verdict import fault_findings

MOST_ROWS = 60  # of a list, unless it is asked for whole


def figures(screen: Screen, job: Job, summary: Summary) -> None:
    """The summary: what the job is, how crowded it is, how narrow its tightest refusal."""
    screen.heading(f"{job.name}, revision {job.revision}")
    proof = "proved" if job.proof.proved else f"NOT PROVED, {_many(len(job.proof.faults), 'fault')}"
    facts = [*_counts(job, summary), *_claims(job), _tightest(job.proof.tightest)]
    screen.facts([*facts, ("proof", proof)])


def _counts(job: Job, summary: Summary) -> list[tuple[str, str]]:
    made = job.key_format
    more = [f"{made_.name}" for made_ in job.formats[1:]]
    cylinders = str(summary.cylinders)
    if summary.doors != summary.cylinders:
        cylinders += f" at {summary.doors} doors of the chart"
    keys = [str(summary.keys)]
    keys += [f"{summary.reserved} of them reserved"] if summary.reserved else []
    keys += [f"{summary.retired} of them retired"] if summary.retired else []
    keys += [_many(summary.control_keys, "control key") + " besides"] if job.controls else []
    crowded = "none"
    if summary.crowded:
        crowded = f"{summary.crowded}, each to be signed off"
    return [
        ("hardware", ", ".join([made.name, *more])),
        ("cylinders", cylinders),
        ("keys", ", ".join(keys)),
        *([("copies of keys", str(summary.copies))] if summary.copies else []),
        ("levels", str(summary.levels)),
        (
            "master pins",
            f"{summary.master_pins}, at most {summary.most_in_cylinder} in one cylinder",
        ),
        ("chambers above two", crowded),
    ]


def _claims(job: Job) -> Iterable[tuple[str, str]]:
    for claim in job.claims:
        known = CLAIMS[claim.kind].format(bound=claim.bound)
        yield "preferred", f"{claim.measure}: {claim.value}, {known}"


def _tightest(margin: Margin | None) -> tuple[str, str]:
    if margin is None:
        return "tightest margin", "no key has to be kept out of any door"
    chambers = _many(margin.chambers, "chamber")
    return (
        "tightest margin",
        f"door {margin.door} keeps key {margin.key} out in {chambers}, by "
        + _many(margin.steps, "step"),
    )


def verdict(screen: Screen, job: Job) -> None:
    """Proved or not, in a line; the faults follow in ``faults``."""
    pairs = f"{job.proof.pairs:,} pairs of key and cylinder tried"
    if job.proof.proved:
        screen.verdict(f"\nPROVED: every key opens exactly its doors ({pairs}).", good=True)
    else:
        faults = _many(len(job.proof.faults), "fault")
        screen.verdict(f"\nNOT PROVED: {faults} ({pairs}).", good=False)


def faults(screen: Screen, job: Job, *, full: bool) -> None:
    """Every disagreement with the chart."""
    wrong = job.proof.faults
    if wrong:
        shown = _most(len(wrong), full=full)
        rows = [(one.key or "-", one.door, _fault(one.kind, one.detail)) for one in wrong[:shown]]
        screen.heading("Faults")
        screen.table(("key", "door", "what is wrong"), rows, wrap=("what is wrong",))
        _more(screen, len(wrong) - shown)
        screen.points(dict.fromkeys(messages.do(one) for one in fault_findings(job)))


def _fault(kind: FaultKind, detail: str) -> str:
    return f"{FAULTS[kind]} ({detail})" if detail else FAULTS[kind]


def bittings(screen: Screen, job: Job, *, full: bool) -> None:
    """The list of cuts; confidential."""
    made, chart = job.key_format, job.chart
    opens = chart.doors_of()
    screen.heading(f"Bitting list, {made.reading.value} (confidential)")
    shown = _most(len(chart.keys), full=full)
    rows = [
        (
            chart.keys[k].name,
            made.stamp(job.bittings[k]),
            _opens(chart.keys[k].standing, len(opens[k])),
            chart.keys[k].under,
        )
        for k in range(shown)
    ]
    for control in job.controls:
        name = f"control:{control.group}" if control.group else "control"
        rows.append((name, made.stamp(control.levels), "draws cores, never issued", ""))
    screen.table(("key", "cuts", "opens", "under"), rows)
    _more(screen, len(chart.keys) - shown)


def _opens(standing: KeyStanding, doors: int) -> str:
    return _many(doors, "door") if standing is KeyStanding.ACTIVE else standing.value


def pins(screen: Screen, job: Job, combinations: dict[str, int] | None, *, full: bool) -> None:
    """The pins of all cylinders, a line each: bottom pin and master pins bottom-up."""
    screen.heading(
        f"Pins by cylinder, bottom+masters, {job.key_format.reading.value} (confidential)"
    )
    chambers = max(len(cylinder.chambers) for cylinder in job.pinning)
    heads = ["door", *(str(chamber + 1) for chamber in range(chambers))]
    if combinations:
        heads.append("exact")
    rows = []
    shown = _most(len(job.pinning), full=full)
    for door, cylinder in enumerate(job.pinning[:shown]):
        cells = [cylinder.door, *_short(job.format_of(door), cylinder)]
        cells += [""] * (chambers + 1 - len(cells))
        if combinations:
            cells.append(f"{combinations[cylinder.door]:,}")
        rows.append(cells)
    screen.table(heads, rows, right=("exact",))
    _more(screen, len(job.pinning) - shown)
    if combinations:
        screen.say("exact: how many combinations of cuts operate the cylinder.")


def _short(made: HardwareFormat, cylinder: PinnedCylinder) -> list[str]:
    return [
        "none"
        if stack is None
        else "+".join(map(str, (made.number_of(stack.bottom), *stack.masters)))
        for stack in cylinder.chambers
    ]


def pinning_chart(screen: Screen, job: Job, name: str | None = None) -> None:
    """One cylinder in full, top to bottom as it stands on the bench; by default the one with the
    most master pins, or the first that has a fault.
    """
    door = _which(job, name)
    made, cylinder = job.format_of(door), job.pinning[door]
    pieces = _many(job.chart.doors[door].count, "cylinder")
    screen.heading(f"Pinning chart: {cylinder.door} ({pieces}, {made.name})")
    stacks = describe_cylinder(made, cylinder)
    tallest = max((len(_masters(stack)) for stack in stacks), default=0)
    rows: list[tuple[str, ...]] = []
    rows += _pin_rows(
        "driver", [_first(s, PartKind.DRIVER, PartKind.SECURITY_DRIVER) for s in stacks]
    )
    if any(_first(stack, PartKind.BUILDUP) for stack in stacks):
        rows += _pin_rows("build-up", [_first(stack, PartKind.BUILDUP) for stack in stacks])
    for number in range(tallest, 0, -1):
        row = [_masters(s)[number - 1] if number <= len(_masters(s)) else None for s in stacks]
        rows += _pin_rows(f"master {number}" if tallest > 1 else "master", row)
    rows += _pin_rows("bottom", [_first(stack, PartKind.BOTTOM) for stack in stacks])
    screen.table(("chamber", *(str(chamber + 1) for chamber in range(len(stacks)))), rows)


def _which(job: Job, name: str | None) -> int:
    doors = job.chart.door_index()
    if name is not None:
        return doors[name]
    if job.proof.faults:
        return doors[job.proof.faults[0].door]
    return max(range(len(job.pinning)), key=lambda door: (job.pinning[door].master_pins(), -door))


def _first(stack: Sequence[Part], *kinds: PartKind) -> Part | None:
    return next((part for part in stack if part.kind in kinds), None)


def _masters(stack: Sequence[Part]) -> list[Part]:
    return [part for part in stack if part.kind is PartKind.MASTER]


def _pin_rows(name: str, parts: Sequence[Part | None]) -> list[tuple[str, ...]]:
    """A row of sizes and, where lengths are known, one in inch and one in millimetres."""
    rows = [(name, *(part.size if part else "" for part in parts))]
    if any(part and part.length is not None for part in parts):
        rows.append(("  inch", *(part.inch() if part else "" for part in parts)))
        rows.append(("  mm", *(part.mm() if part else "" for part in parts)))
    return rows


def parts(screen: Screen, summary: Summary) -> None:
    """What the bench takes for the whole job."""
    screen.heading("Parts for the whole job")
    rows: list[tuple[str, ...]] = []
    last: PartKind | None = None
    for one in summary.parts:
        part = one.part
        name = "" if part.kind is last else PARTS[part.kind]
        rows.append((name, part.size, part.inch(), part.mm(), f"{one.count:,}"))
        last = part.kind
    screen.table(("part", "size", "inch", "mm", "pieces"), rows, ("size", "inch", "mm", "pieces"))


def cautions(screen: Screen) -> None:
    """What holds for every job."""
    screen.heading("Before the work")
    screen.points(BEFORE_THE_WORK)


def where(screen: Screen, saved: Saved, folder: Path, job: Job) -> None:
    """Where the files are."""
    names = ", ".join(saved.files)
    mark = "" if job.proof.proved else ", marked NOT PROVED"
    if saved.unchanged:
        screen.always(f"{folder}: revision {job.revision} holds exactly this job already.")
    else:
        screen.always(f"Written to {folder}: {names} (revision {job.revision}{mark}).")


def _most(rows: int, *, full: bool) -> int:
    """How many rows of a list are shown."""
    return rows if full else min(rows, MOST_ROWS)


def _more(screen: Screen, left: int) -> None:
    if left:
        screen.say(f"... and {left:,} more (--full shows all).")


def _many(count: int, noun: str) -> str:
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"
