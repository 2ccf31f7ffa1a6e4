"""The live verdict on a chart that is being edited: possible, impossible, or still looking.

Theory of operation. One search at a time, in a thread, for the chart seen last: a newer question
ends an older search at its next sign of life. A search is the design itself with a small budget, so
its answers are of the same three kinds and never confuse "impossible" with "not found". Three
stages, each shown as soon as it is there: whether the present cuts still do; the verdict; for a
refusal, what would help.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job, Margin
from pinloom.core.request import Designed, DesignRequest, GaveUp, ProvedImpossible, Remedy
from pinloom.design import design
from pinloom.pinning import pin_job
from pinloom.workflow.verdict import judge

BUDGET = 300
KEPT = 64


class Answer(Enum):
    """The three honest answers, and none yet."""

    LOOKING = "still looking"
    POSSIBLE = "possible"
    IMPOSSIBLE = "impossible"
    NOT_FOUND = "not found"  # neither found nor excluded in the steps of a quick look


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What is known so far. ``final`` = nothing more will come. ``kept`` = whether the job's
    present cuts serve the new chart as they are, None where they cannot be compared; ``repinned`` =
    doors whose pins would change then.
    """

    answer: Answer = Answer.LOOKING
    final: bool = False
    master_pins: int = 0
    tightest: Margin | None = None
    kept: bool | None = None
    repinned: int = 0
    reason: Finding | None = None
    doors: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    steps: int = 0


class _Superseded(Exception):
    """A newer question was asked."""


class Looker:
    """Answers the question asked last. Safe for threads."""

    def __init__(self) -> None:
        self._known: OrderedDict[str, Look] = OrderedDict()
        self._asked = ""
        self._thread: threading.Thread | None = None
        self._change = threading.Condition()

    def ask(self, job: Job, chart: AccessChart, seen: str, wait: float) -> Look:
        """What is known about a chart after at most ``wait`` seconds; the search goes on after."""
        name = f"{job.proof.fingerprint}-{seen}"
        with self._change:
            self._asked = name
            if name not in self._known or not self._known[name].final:
                self._start(job, chart, name)
            self._change.wait_for(lambda: self._settled(name), wait)
            return self._known.get(name, Look())

    def forget(self) -> None:
        """Drop every answer and end the search."""
        with self._change:
            self._asked = ""
            self._known.clear()

    def _settled(self, name: str) -> bool:
        look = self._known.get(name)
        return look is not None and look.answer is not Answer.LOOKING

    def _start(self, job: Job, chart: AccessChart, name: str) -> None:
        before = self._thread
        if before is not None and before.is_alive() and before.name == name:
            return

        def run() -> None:
            if before is not None:
                before.join()  # one search at a time: it ends at its next sign of life
            try:
                look_at(job, chart, lambda: self._check(name), lambda look: self._tell(name, look))
            except _Superseded:
                return

        self._thread = threading.Thread(target=run, name=name, daemon=True)
        self._thread.start()

    def _check(self, name: str) -> None:
        if self._asked != name:
            raise _Superseded

    def _tell(self, name: str, look: Look) -> None:
        with self._change:
            self._check(name)
            self._known[name] = look
            self._known.move_to_end(name)
            while len(self._known) > KEPT:
                self._known.popitem(last=False)
            self._change.notify_all()


def look_at(
    job: Job,
    chart: AccessChart,
    alive: Callable[[], None],
    tell: Callable[[Look], None],
) -> None:
    """Look at one chart on the job's hardware; ``alive`` is called often and may raise."""
    alive()
    formats = {made.name: made for made in job.formats}
    by_door = tuple(formats.get(door.hardware, job.key_format) for door in chart.doors)
    look = _kept(job, chart, by_door)
    tell(look)
    request = DesignRequest(
        chart=chart,
        key_format=job.key_format,
        cylinder_formats=by_door,
        fixed=tuple(job.key_format.read_cuts(k.given) if k.given else None for k in chart.keys),
        preference=job.preference,
        seed=job.seed,
        budget=BUDGET,
        seek_remedies=False,
    )
    outcome = design(request, lambda _: alive())
    if isinstance(outcome, Designed):
        tell(_possible(job, chart, by_door, outcome, look))
        return
    tell(_refused(outcome, look))
    again = design(replace(request, seek_remedies=True), lambda _: alive())
    if not isinstance(again, Designed):
        outcome = again
    tell(replace(_refused(outcome, look), final=True))


def _kept(job: Job, chart: AccessChart, by_door: tuple[HardwareFormat, ...]) -> Look:
    """Whether the cuts that exist do for the new chart, with other pins where needed."""
    cuts = dict(zip((key.name for key in job.chart.keys), job.bittings, strict=True))
    gone = cuts.keys() - {key.name for key in chart.keys}
    if gone or any(key.name not in cuts for key in chart.keys):
        return Look()
    bittings: tuple[Bitting, ...] = tuple(cuts[key.name] for key in chart.keys)
    pinned = pin_job(chart, job.key_format, by_door, bittings, job.controls).cylinders
    report = judge(chart, job.formats, bittings, job.controls, pinned)
    before = {pins.door: pins.chambers for pins in job.pinning}
    changed = sum(before.get(pins.door) != pins.chambers for pins in pinned)
    return Look(kept=report.proved, repinned=changed)


def _possible(
    job: Job,
    chart: AccessChart,
    by_door: tuple[HardwareFormat, ...],
    outcome: Designed,
    look: Look,
) -> Look:
    pinned = pin_job(chart, job.key_format, by_door, outcome.bittings, outcome.controls)
    report = judge(chart, job.formats, outcome.bittings, outcome.controls, pinned.cylinders)
    counts = [door.count for door in chart.doors]
    return replace(
        look,
        answer=Answer.POSSIBLE if report.proved else Answer.NOT_FOUND,
        final=True,
        master_pins=sum(
            pins.master_pins() * count for pins, count in zip(pinned.cylinders, counts, strict=True)
        ),
        tightest=report.tightest,
        steps=outcome.steps,
    )


def _refused(outcome: ProvedImpossible | GaveUp, look: Look) -> Look:
    if isinstance(outcome, ProvedImpossible):
        return replace(
            look,
            answer=Answer.IMPOSSIBLE,
            reason=outcome.reason,
            doors=outcome.doors,
            keys=outcome.keys,
            remedies=outcome.remedies,
            steps=outcome.steps,
        )
    wrong_doors = tuple(dict.fromkeys(door for _, door in outcome.wrong))
    wrong_keys = tuple(dict.fromkeys(key for key, _ in outcome.wrong))
    return replace(
        look,
        answer=Answer.NOT_FOUND,
        reason=outcome.reason,
        doors=wrong_doors,
        keys=wrong_keys,
        remedies=outcome.remedies,
        steps=outcome.steps,
    )
