"""The report of a command that makes a job: what was read, what came of it, where it is."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pinloom import messages
from pinloom.cli import layout, onhand, roomtold, show
from pinloom.cli.exits import Exit
from pinloom.cli.screen import Screen, said
from pinloom.core.chart import AccessChart
from pinloom.core.findings import Finding, Severity, caution
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import Job
from pinloom.core.request import Designed, DesignOutcome, GaveUp, ProvedImpossible, Remedy
from pinloom.workflow.counts import combinations
from pinloom.workflow.folder import Saved
from pinloom.workflow.inputs import chart_text
from pinloom.workflow.jobfile import verdict_of
from pinloom.workflow.summary import summarise

MOST_DOORS = 40  # of a chart printed back, unless it is asked for whole
if TYPE_CHECKING:  # these load the whole engine; pinning and showing must not wait for it
    from pinloom.workflow.grow import Change, NotGrown
    from pinloom.workflow.kitdesign import KitResult
    from pinloom.workflow.roomtold import RoomTold

MOST_LINES = 160
MOST_PAIRS = 40
MOST_NAMES = 60  # of doors or keys in a row
WRONG = "opens, and shall not"
TRIED = {True: "a design with it was found", False: "not tried out"}


class Report:
    """Shows a result in words, or as JSON, and gives the exit code that belongs to it."""

    def __init__(self, *, quiet: bool = False, as_json: bool = False, full: bool = False) -> None:
        self._screen = Screen(quiet=quiet, silent=as_json)
        self._json = as_json
        self._full = full

    def refuse(self, findings: Iterable[Finding]) -> Exit:
        """Bad input: every finding, nothing written."""
        found = tuple(findings)
        if self._json:
            self._screen.json({"exit": int(Exit.BAD_INPUT), "findings": [said(f) for f in found]})
            return Exit.BAD_INPUT
        return self._screen.refuse(found)

    def job(
        self,
        job: Job,
        saved: Saved,
        folder: Path,
        findings: Sequence[Finding],
        door: str | None = None,
        kit: "KitResult | None" = None,
        room: "RoomTold | None" = None,
    ) -> Exit:
        """A job as written; ``kit`` = what the pins on hand lack for it, ``room`` = what is kept
        for further change keys.
        """
        faulty = not job.proof.proved or any(f.severity is Severity.FAULT for f in findings)
        code = Exit.FAULTS if faulty else Exit.DONE
        if self._json:
            told = {} if kit is None else {"kit": onhand.figures(kit)}
            told |= {} if room is None else {"room": roomtold.room_figures(room)}
            self._screen.json(_job_figures(job, saved, folder, findings, code) | told)
            return code
        screen = self._screen
        if door is not None and door not in job.chart.door_index():
            findings = (*findings, caution("door-not-in-chart", door=door))
            door = None
        self._chart(job.chart)
        summary = summarise(job)
        show.figures(screen, job, summary)
        layout.layout(screen, job, full=self._full)
        show.bittings(screen, job, full=self._full)
        show.pins(screen, job, combinations(job), full=self._full)
        show.pinning_chart(screen, job, door)
        show.parts(screen, summary)
        if room is not None:
            roomtold.show_room(screen, room, full=self._full)
        if kit is not None:
            onhand.on_hand(screen, kit)
        show.faults(screen, job, full=self._full)
        self._findings(findings)
        show.cautions(screen)
        show.verdict(screen, job)
        show.where(screen, saved, folder, job)
        return code

    def no_design(
        self,
        chart: AccessChart,
        outcome: DesignOutcome,
        findings: Sequence[Finding],
        kit: "KitResult | None" = None,
        made: HardwareFormat | None = None,
        room: "RoomTold | None" = None,
    ) -> Exit:
        """A reasoned refusal, or an honest giving up. ``kit`` says what to buy, in steps of
        ``made``; ``room`` what was asked for, and what would fit.
        """
        if isinstance(outcome, Designed):
            raise TypeError("a design is shown as its job")
        impossible = isinstance(outcome, ProvedImpossible)
        code = Exit.IMPOSSIBLE if impossible else Exit.GAVE_UP
        if self._json:
            figures = _no_figures(outcome)
            figures |= {} if kit is None else {"kit": onhand.figures(kit)}
            figures |= {} if room is None else {"room": roomtold.room_figures(room)}
            self._screen.json(
                {**figures, "exit": int(code), "findings": [said(f) for f in findings]}
            )
            return code
        self._chart(chart)
        self._findings(findings)
        if isinstance(outcome, ProvedImpossible):
            self._impossible(outcome, _with_room(room))
        else:
            self._gave_up(outcome, _with_room(room))
        if room is not None:
            roomtold.show_refused_room(self._screen, room)
        self._remedies(outcome.remedies)
        if kit is not None and kit.purchase is not None and made is not None:
            onhand.purchase(self._screen, kit.purchase, made)
        self._screen.always("\nNothing was written.")
        return code

    def next_steps(self, steps: Sequence[tuple[str, str]]) -> None:
        """Commands to try next, with what they are for."""
        self._screen.heading("What to do next")
        for command, purpose in steps:
            self._screen.say(f"{purpose[0].upper()}{purpose[1:]}:")
            self._screen.command(command)

    def changes(self, found: "Sequence[Change]") -> None:
        """What a bench and a key desk have to do."""
        self._screen.heading(f"Changes: {len(found):,}")
        if not found:
            self._screen.say("None: keys and pins stay as they are.")
            return
        shown = found if self._full else found[:MOST_PAIRS]
        rows = [(one.name, one.what, one.before, one.after) for one in shown]
        self._screen.table(("door or key", "what", "before", "after"), rows)
        if len(shown) < len(found):
            more = len(found) - len(shown)
            self._screen.say(f"... and {more:,} more in changes.csv (--full shows all).")

    def not_grown(self, refusal: "NotGrown", findings: Sequence[Finding]) -> Exit:
        """No such system: proved, or not found."""
        code = Exit.IMPOSSIBLE if refusal.proved else Exit.GAVE_UP
        if self._json:
            self._screen.json(
                {
                    "exit": int(code),
                    "verdict": "IMPOSSIBLE" if refusal.proved else "GAVE UP",
                    "clashes": [list(pair) for pair in refusal.clashes],
                    "helpful": list(refusal.helpful),
                    "tried": refusal.tried,
                    "findings": [said(f) for f in findings],
                }
            )
            return code
        self._findings(findings)
        screen = self._screen
        if refusal.proved:
            text = "IMPOSSIBLE with the keys as they are cut and those that may be re-cut."
        else:
            text = f"GAVE UP after {refusal.tried:,} choices: none found, and none excluded."
        screen.verdict(f"\n{text}", good=False)
        if refusal.clashes:
            screen.heading("Wrong however these doors are pinned")
            screen.table(("key", "opens door, and shall not"), refusal.clashes[:MOST_PAIRS])
        if refusal.helpful:
            screen.say("Keys that take part; --may-recut KEY lets one get new cuts:")
            screen.say(", ".join(refusal.helpful[:MOST_PAIRS]), indent=2)
        elif not refusal.clashes:
            screen.say("Let keys of the doors in question get new cuts with --may-recut KEY.")
        screen.always("Nothing was written.")
        return code

    def _chart(self, chart: AccessChart) -> None:
        self._screen.heading("The chart as read: check it")
        most = None if self._full else MOST_DOORS
        lines = chart_text(chart, self._screen.width, most).splitlines()
        shown = lines if self._full else lines[:MOST_LINES]
        self._screen.lines("\n".join(shown))
        if len(shown) < len(lines):
            self._screen.say(f"... and {len(lines) - len(shown)} more lines.")
        if most is not None and max(len(chart.doors), len(chart.keys)) > most:
            self._screen.say("The chart was shortened here; --full shows all of it.")

    def _findings(self, findings: Sequence[Finding]) -> None:
        if findings:
            self._screen.heading("To look at")
            self._screen.findings(findings)

    def _impossible(self, outcome: ProvedImpossible, room: str) -> None:
        screen = self._screen
        screen.verdict(f"\nIMPOSSIBLE{room}: {_plain(messages.what(outcome.reason))}", good=False)
        screen.always(messages.do(outcome.reason))
        if outcome.keys or outcome.doors:
            only = "These alone conflict, and none of them can be left out of the conflict:"
            screen.say(only if outcome.minimal else "These already conflict by themselves:")
            named = (("doors", outcome.doors), ("keys", outcome.keys))
            screen.facts([(what, self._names(names)) for what, names in named if names])

    def _gave_up(self, outcome: GaveUp, room: str) -> None:
        screen = self._screen
        reason = outcome.reason
        if reason is None:
            known = f"No design was found in {outcome.steps:,} steps, and none was excluded."
            advice = "A larger --budget searches longer; another --seed searches elsewhere."
        else:
            known, advice = messages.what(reason), messages.do(reason)
        screen.verdict(f"\nGAVE UP{room}: {_plain(known)}", good=False)
        screen.always(advice)
        if outcome.wrong:
            screen.heading(f"Nearest design: {len(outcome.wrong):,} wrong openings left")
            doors: dict[str, list[str]] = {}
            for key, door in outcome.wrong:
                doors.setdefault(key, []).append(door)
            shown = list(doors.items())[: None if self._full else MOST_PAIRS]
            rows = [(key, self._names(names)) for key, names in shown]
            screen.table(("key", WRONG), rows, wrap=(WRONG,))
            if len(shown) < len(doors):
                screen.say(f"... and {len(doors) - len(shown):,} more keys (--full shows all).")

    def _names(self, names: Sequence[str]) -> str:
        """Names in a row, the rest counted."""
        if self._full or len(names) <= MOST_NAMES:
            return ", ".join(names)
        left = len(names) - MOST_NAMES
        return f"{', '.join(names[:MOST_NAMES])} and {left:,} more (--full shows all)"

    def _remedies(self, remedies: Sequence[Remedy]) -> None:
        if not remedies:
            return
        self._screen.heading("What would help")
        self._screen.points(f"{_remedy(one)} ({TRIED[one.verified]})" for one in remedies)


def _plain(text: str) -> str:
    return text[0].lower() + text[1:] if text[:2].istitle() else text


def _with_room(room: "RoomTold | None") -> str:
    return " with the room asked for" if room is not None and room.refused else ""


def _remedy(remedy: Remedy) -> str:
    wording = messages.wordings()[remedy.change]
    return wording.do.format(**dict(remedy.values)).rstrip(".")


def _job_figures(
    job: Job, saved: Saved, folder: Path, findings: Sequence[Finding], code: Exit
) -> dict[str, Any]:
    summary = summarise(job)
    tightest = job.proof.tightest
    return {
        "exit": int(code),
        "verdict": verdict_of(job),
        "name": job.name,
        "revision": job.revision,
        "folder": str(folder),
        "files": list(saved.files),
        "unchanged": saved.unchanged,
        "fingerprint": job.proof.fingerprint,
        "figures": {
            "doors": summary.doors,
            "cylinders": summary.cylinders,
            "keys": summary.keys,
            "levels": summary.levels,
            "master_pins": summary.master_pins,
            "crowded_chambers": summary.crowded,
            "pairs": job.proof.pairs,
        },
        "tightest": tightest
        and {
            "key": tightest.key,
            "door": tightest.door,
            "chambers": tightest.chambers,
            "steps": tightest.steps,
        },
        "claims": [
            {"measure": c.measure, "value": c.value, "known": c.kind.value, "bound": c.bound}
            for c in job.claims
        ],
        "layout": layout.figures(job.layout),
        "faults": [
            {"kind": f.kind.value, "key": f.key, "door": f.door, "detail": f.detail}
            for f in job.proof.faults
        ],
        "findings": [said(f) for f in findings],
    }


def _no_figures(outcome: ProvedImpossible | GaveUp) -> dict[str, Any]:
    figures: dict[str, Any] = {
        "verdict": "IMPOSSIBLE" if isinstance(outcome, ProvedImpossible) else "GAVE UP",
        "steps": outcome.steps,
        "reason": said(outcome.reason) if outcome.reason else None,
        "remedies": [
            {"text": _remedy(remedy), "verified": remedy.verified} for remedy in outcome.remedies
        ],
    }
    if isinstance(outcome, ProvedImpossible):
        return figures | {
            "doors": list(outcome.doors),
            "keys": list(outcome.keys),
            "minimal": outcome.minimal,
        }
    return figures | {"wrong": [list(pair) for pair in outcome.wrong]}
