"""The command line: arguments to a use case, its result to words.

How to add a command NAME:

1. ``workflow/NAME.py``: the use case, a few lines that join stages. It takes plain arguments and
   returns a frozen record with the result and its findings; it prints nothing and exits nowhere.
2. ``cli/NAME.py``: a click command called ``command`` that calls the use case, shows the result
   through ``cli.screen.Screen`` and returns an ``Exit``. Bad input is not raised: show the findings
   with ``screen.refuse(findings)``, which prints them all and returns ``Exit.BAD_INPUT``.
3. One line in ``COMMANDS`` below, with the same one-line help as the command's own docstring.
4. A section in ``docs/guide/commands.md`` with every option; a test of each exit code in
   ``tests/cli/test_NAME.py``; what a user sees, whole, in ``tests/golden``.

Help must show at once, so a command's module is imported only when that command runs, and a command
imports its use case inside the function. Tests keep ``pinloom --help`` quick, and the table below
in step with the commands.

A command that is a group (``ledger``) gives a click group as ``command``; its commands follow the
same rules.
"""

import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NoReturn

import click

from pinloom import __version__
from pinloom.cli.exits import Exit

#: command -> (module that defines a click command named `command`, one-line help)
COMMANDS: dict[str, tuple[str, str]] = {
    "design": (
        "pinloom.cli.design",
        "Design cuts for every key of a chart, pin every cylinder, prove them.",
    ),
    "pin": (
        "pinloom.cli.pin",
        "Pin existing cuts as they are, prove them, report every fault.",
    ),
    "grow": (
        "pinloom.cli.grow",
        "Bring an existing job to a changed chart; keys that are cut stay cut.",
    ),
    "audit": (
        "pinloom.cli.audit",
        "Count what else opens these doors, on proved and on faulty jobs.",
    ),
    "decode": (
        "pinloom.cli.decode",
        "Compare pins found in a cylinder with the record, and say what they are.",
    ),
    "bench": (
        "pinloom.cli.bench",
        "Lay out a proved job for the bench: cuts, trays of cylinders, pins and what is short.",
    ),
    "construction": (
        "pinloom.cli.construction",
        "Add a temporary key for the time of building, proved before and after the changeover.",
    ),
    "lost": (
        "pinloom.cli.lost",
        "Show what a lost key exposes, and plans to shut it out.",
    ),
    "ledger": (
        "pinloom.cli.ledger",
        "Keep the keys of a building: cut, issued, returned, lost.",
    ),
    "sheets": (
        "pinloom.cli.sheets",
        "Print a proved job: the owner's set, the bench's set, or single sheets by NAME.",
    ),
    "room": (
        "pinloom.cli.room",
        "Show how many more change keys fit under each master with nothing touched.",
    ),
    "progression": (
        "pinloom.cli.progression",
        "Progress change keys from a top master by a standard method, without a chart.",
    ),
    "draft": (
        "pinloom.cli.draft",
        "Draft a first keying schedule from a building's handover records.",
    ),
    "give-back": (
        "pinloom.cli.give_back",
        "Give the keying of a proved job back to the building's records, without any cut.",
    ),
    "serve": (
        "pinloom.cli.serve",
        "Open the jobs as a page in the browser of this machine: see, try, pin.",
    ),
    "demo": (
        "pinloom.cli.demo",
        "Design, prove and print the example job, the boatyard Alder Quay.",
    ),
    "formats": (
        "pinloom.cli.formats",
        "List the hardware formats, or show one with where its numbers come from.",
    ),
}


class LazyGroup(click.Group):
    """A group that imports a command's module only when the command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one command, or None for an unknown name."""
        if cmd_name not in COMMANDS:
            return None
        command = import_module(COMMANDS[cmd_name][0]).command
        if not isinstance(command, click.Command):
            raise TypeError(f"{COMMANDS[cmd_name][0]}.command is not a click command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands without importing any of them."""
        if COMMANDS:
            with formatter.section("Commands"):
                formatter.write_dl([(name, text) for name, (_, text) in COMMANDS.items()])


@click.group(
    cls=LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
@click.version_option(__version__, prog_name="pinloom")
def pinloom() -> None:
    """Design, pin, prove and keep master key systems.

    For authorised work only. Local codes, the authority having jurisdiction and licensed practice
    decide.
    """


def run(arguments: Sequence[str]) -> int:
    """Run the command line and give its exit code; nothing is raised."""
    try:
        result = pinloom.main(args=list(arguments), prog_name="pinloom", standalone_mode=False)
    except click.ClickException as error:
        error.show()
        return Exit.BAD_INPUT
    except click.Abort:
        click.echo("\nStopped. Nothing was written after this point.", err=True)
        return Exit.STOPPED
    except BrokenPipeError:
        _close_quietly()
        return Exit.DONE
    except Exception as error:  # noqa: BLE001 (the last door: whatever comes here is a bug)
        _confess(error)
        return Exit.BUG
    return int(result) if isinstance(result, int) else Exit.DONE


def main() -> NoReturn:
    """Run the command line and leave with its exit code."""
    # A job is made of records that live until the end: looking through all of them for rubbish
    # again and again, and once more on the way out, takes a tenth of the time and finds nothing.
    gc.set_threshold(50_000, 20, 100)
    code = run(sys.argv[1:])
    gc.freeze()
    raise SystemExit(code)


def _confess(error: Exception) -> None:
    """Say that this is a bug and where, but never a value: it might be a cut."""
    if os.environ.get("PINLOOM_DEBUG"):
        import traceback

        traceback.print_exception(error)
    where = "an unknown place"
    trace = error.__traceback__
    while trace is not None:
        name = trace.tb_frame.f_globals.get("__name__", "")
        if str(name).startswith("pinloom"):
            where = f"{name}, line {trace.tb_lineno}"
        trace = trace.tb_next
    click.echo(
        f"pinloom: a bug in the program ({type(error).__name__} in {where}).\n"
        "Your input is not to blame. Set PINLOOM_DEBUG=1 to see the whole trace, and report it\n"
        "without any cuts in it.",
        err=True,
    )


def _close_quietly() -> None:
    """The reader went away (``| head``): nothing is left to say, also not at exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
