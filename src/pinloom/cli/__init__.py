"""The command line: arguments to a use case, its result to words.

Help must show at once, so a command's module is imported only when that command runs. The table
below therefore repeats each command's one-line help; a test compares it with the command itself.
"""

from importlib import import_module
from typing import NoReturn

import click

from pinloom import __version__

#: command -> (module that defines a click command named `command`, one-line help)
COMMANDS: dict[str, tuple[str, str]] = {}


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


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="pinloom")
def pinloom() -> None:
    """Design, pin, prove and keep master key systems."""


def main() -> NoReturn:
    """Run the command line; the exit code is the one the command gives."""
    pinloom(prog_name="pinloom")
    raise SystemExit(0)
