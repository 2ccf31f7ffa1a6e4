"""What the commands of the ledger share: the desk they stand at, and how they answer."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from pinloom.cli.exits import Exit
from pinloom.cli.screen import Screen, said
from pinloom.cli.secret import read_secret
from pinloom.core.findings import Finding, has_fault

#: kinds of paths; ``cli.options`` has them too, but brings the readers of charts with it
FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, file_okay=False)
ANY = click.Path(path_type=Path)
WHY = "Why; kept with the event, readable without the passphrase."


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter:
    """Where the ledger is, who is at the desk, and how to answer. Empty texts = the usual."""

    place: str
    clerk: str
    as_json: bool
    as_written: bool

    def screen(self) -> Screen:
        """The screen of this command."""
        return Screen(silent=self.as_json)

    def refuse(self, findings: Sequence[Finding]) -> int:
        """Say no, and why."""
        if self.as_json:
            told = {"exit": int(Exit.BAD_INPUT), "findings": [said(one) for one in findings]}
            self.screen().json(told)
            return Exit.BAD_INPUT
        return self.screen().refuse(findings)

    def record(self, name: str, /, *, show: bool = False, **arguments: object) -> int:
        """Record the action of that name; with ``show`` print its receipt."""
        from functools import partial

        from pinloom.workflow import ledgeracts
        from pinloom.workflow.ledger import desk

        action = partial(getattr(ledgeracts, name), **arguments)
        with desk(self.place, self.clerk) as at:
            if at.value is None:
                return self.refuse(at.findings)
            outcome = at.value.do(action, as_written=self.as_written)
            code = self.told(outcome)
            if outcome.done and show and not self.as_json and outcome.events:
                from pinloom.cli.ledger_show import receipt

                number = outcome.events[-1].receipt
                line = at.value.ask(partial(ledgeracts.receipt, number=number)).value
                if line is not None:
                    receipt(self.screen(), line)
            return code

    def told(self, outcome: Any) -> int:
        """Tell what was recorded, or why nothing was."""
        if not outcome.done:
            return self.refuse(outcome.findings)
        events = [
            {"seq": one.seq, "kind": one.kind.value, "receipt": one.receipt, "name": one.name}
            for one in outcome.events
        ]
        screen = self.screen()
        if self.as_json:
            screen.json({"events": events, "findings": [said(one) for one in outcome.findings]})
            return Exit.DONE
        screen.findings(outcome.findings)
        if not events:
            screen.always("Nothing to record.")
        elif len(events) == 1:
            screen.always(f"Recorded: {events[0]['kind']}, number {events[0]['receipt']}.")
        else:
            screen.always(
                f"Recorded: {len(events)} events, the last number {events[-1]['receipt']}."
            )
        return Exit.DONE

    def ask(self, name: str, answer: Callable[[Screen, Any], Any], /, **arguments: object) -> int:
        """Put the question of that name; ``answer`` shows what came back and gives it as JSON."""
        from functools import partial

        from pinloom.workflow import ledgeracts
        from pinloom.workflow.ledger import desk

        with desk(self.place, self.clerk) as at:
            if at.value is None:
                return self.refuse(at.findings)
            found = at.value.ask(partial(getattr(ledgeracts, name), **arguments))
        if has_fault(found.findings):
            return self.refuse(found.findings)
        screen = self.screen()
        plain = answer(screen, found.value)
        if self.as_json:
            screen.json(plain)
        return Exit.DONE


def why_option(*, needed: bool = False) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """``--why TEXT``."""
    return click.option("--why", default="", required=needed, metavar="TEXT", help=WHY)


def passphrase_of(counter: Counter, text: str | None, what: str = "passphrase") -> str | int:
    """The passphrase an option stands for, asked for when there is none; an exit code when it
    cannot be had.
    """
    word, remarks = read_secret(text if text is not None else "-", what)
    if has_fault(remarks):
        return counter.refuse(remarks)
    counter.screen().findings(remarks)
    return word


pass_counter = click.make_pass_decorator(Counter)
