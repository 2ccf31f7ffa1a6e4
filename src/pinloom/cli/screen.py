"""What a command shows: 80 columns, plain when piped, and never by colour alone.

The report goes to standard output, a refusal to standard error. Names of doors and keys are shown
as they are: nothing in them is taken for markup. A reader that goes away (``| head``) does not
change a command's exit code.
"""

import json
import os
import shutil
import sys
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any, TextIO

from rich import box
from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pinloom import messages
from pinloom.cli.exits import Exit
from pinloom.core.findings import Finding, Severity

WIDTH = 80
NARROWEST = 40

#: findings of one code shown before the rest is only counted; ``--json`` has all
MOST_FAULTS = 100
MOST_OTHERS = 5

_STYLES = {Severity.FAULT: "bold red", Severity.CAUTION: "yellow", Severity.NOTE: "dim"}
_ORDER = {Severity.FAULT: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


class Screen:
    """The terminal of one command. ``quiet`` keeps the verdict and refusals only; ``silent`` keeps
    standard output for machine-readable text.
    """

    def __init__(self, *, quiet: bool = False, silent: bool = False) -> None:
        self._out = _console(sys.stdout)
        self._err = _console(sys.stderr)
        self._quiet = quiet or silent
        self._silent = silent

    @property
    def width(self) -> int:
        """Columns to lay lines out in."""
        return self._out.width

    # --- the report, left out when quiet --------------------------------------------------------

    def heading(self, text: str) -> None:
        """A heading with a line below it."""
        if not self._quiet:
            rule = "=" * min(self._out.width, max(Text(text).cell_len, 1))
            self._print(self._out, Text(f"\n{text}\n{rule}", style="bold"))

    def say(self, text: str, indent: int = 0) -> None:
        """A paragraph, wrapped."""
        if not self._quiet:
            self._print(self._out, Padding(Text(text), (0, 0, 0, indent)))

    def points(self, texts: Iterable[str]) -> None:
        """A list of paragraphs, each behind a dash."""
        grid = Table.grid(padding=(0, 1))
        grid.add_column(no_wrap=True)
        grid.add_column(overflow="fold")
        for text in texts:
            grid.add_row(Text("-"), Text(text))
        if not self._quiet:
            self._print(self._out, grid)

    def lines(self, text: str) -> None:
        """Lines that are laid out already."""
        if not self._quiet:
            self._print(self._out, Text(text.rstrip("\n")), wrap=False)

    def command(self, line: str) -> None:
        """A command to copy, broken where the shell allows it."""
        parts = textwrap.wrap(
            line,
            self._out.width - 4,
            initial_indent="  ",
            subsequent_indent="      ",
            break_long_words=False,
            break_on_hyphens=False,
        )
        self.lines(" \\\n".join(parts))

    def facts(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Names with values beside them."""
        grid = Table.grid(padding=(0, 2))
        grid.add_column(no_wrap=True)
        grid.add_column(ratio=1, overflow="fold")
        for name, value in pairs:
            grid.add_row(Text(name), Text(value))
        if not self._quiet and grid.row_count:
            self._print(self._out, grid)

    def table(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        right: Iterable[str] = (),
        wrap: Iterable[str] = (),
    ) -> None:
        """A table. Columns whose heads are in ``right`` are set to the right; the first column and
        those in ``wrap`` may break their lines. A column without any text is left out.
        """
        if self._quiet:
            return
        used = [i for i in range(len(heads)) if i == 0 or any(row[i] for row in rows)]
        numbers, broken = set(right), {heads[0], *wrap}
        made = Table(
            box=box.ASCII2 if _is_ascii(self._out) else box.SIMPLE_HEAD,
            pad_edge=False,
            padding=(0, 1, 0, 0),
        )
        made.show_edge = False
        for i in used:
            made.add_column(
                Text(heads[i]),
                justify="right" if heads[i] in numbers else "left",
                no_wrap=heads[i] not in broken,
                overflow="fold",
            )
        for row in rows:
            made.add_row(*(Text(row[i]) for i in used))
        self._print(self._out, made)

    def findings(self, findings: Iterable[Finding]) -> None:
        """Findings that came with a result."""
        if not self._quiet:
            self._findings(self._out, findings)

    # --- always shown -----------------------------------------------------------------------------

    def verdict(self, text: str, *, good: bool) -> None:
        """The answer in a line or two; shown also when quiet."""
        if not self._silent:
            self._print(self._out, Text(text, style="bold green" if good else "bold red"))

    def always(self, text: str) -> None:
        """A paragraph that also a quiet command shows: where the files are."""
        if not self._silent:
            self._print(self._out, Text(text))

    def refuse(self, findings: Iterable[Finding], code: Exit = Exit.BAD_INPUT) -> Exit:
        """Show every finding on standard error; gives the exit code for the command to return."""
        found = tuple(findings)
        self._findings(self._err, found)
        faults = sum(one.severity is Severity.FAULT for one in found)
        word = "fault" if faults == 1 else "faults"
        self._print(self._err, Text(f"\n{faults} {word}; nothing was written.", style="bold"))
        return code

    def json(self, value: Any) -> None:
        """One JSON text on standard output, sorted, for programs."""
        text = json.dumps(value, ensure_ascii=False, indent=2, sort_keys=True)
        self._print(self._out, Text(text), wrap=False)

    # --- how --------------------------------------------------------------------------------------

    def _findings(self, console: Console, findings: Iterable[Finding]) -> None:
        """Findings of one kind stand together, with what to do said once below them."""
        groups: dict[tuple[int, str, str], list[Finding]] = {}
        for one in findings:
            groups.setdefault((_ORDER[one.severity], one.code, messages.do(one)), []).append(one)
        grid = Table.grid(padding=(0, 1))
        grid.add_column(no_wrap=True, width=7)
        grid.add_column(ratio=1, overflow="fold")
        for (_, code, do), group in sorted(groups.items(), key=lambda item: item[0][0]):
            severity = group[0].severity
            most = MOST_FAULTS if severity is Severity.FAULT else MOST_OTHERS
            lines = [_said(one) for one in group[:most]]
            if len(group) > most:
                lines.append(f"... and {len(group) - most} more of this kind.")
            if len(lines) == 1:
                lines = [f"{lines[0]} {do} [{code}]"]
            else:
                lines.append(f"{do} [{code}]")
            word = severity.value.upper()
            grid.add_row(Text(word, style=_STYLES[severity]), Text("\n".join(lines)))
        if grid.row_count:
            self._print(console, grid)

    def _print(self, console: Console, what: RenderableType, *, wrap: bool = True) -> None:
        with console.capture() as captured:
            console.print(what, soft_wrap=not wrap)
        text = "\n".join(line.rstrip(" ") for line in captured.get().split("\n"))
        try:
            console.file.write(text)
            console.file.flush()
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), console.file.fileno())


def said(finding: Finding) -> dict[str, Any]:
    """A finding for ``--json``: code, severity, place and both sentences."""
    place = finding.place
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "file": place.file,
        "sheet": place.sheet,
        "row": place.row,
        "column": place.column,
        "what": messages.what(finding),
        "do": messages.do(finding),
    }


def _said(finding: Finding) -> str:
    first = f" First seen: {finding.first}." if finding.first else ""
    text = messages.what(finding)
    if str(finding.place):
        return f"{finding.place}: {text}{first}"
    return f"{text[0].upper()}{text[1:]}{first}"


def _is_ascii(console: Console) -> bool:
    return not console.encoding.lower().startswith("utf")


def _console(stream: TextIO) -> Console:
    width = WIDTH
    if stream.isatty():
        width = max(NARROWEST, min(WIDTH, shutil.get_terminal_size((WIDTH, 24)).columns))
    if hasattr(stream, "reconfigure"):
        # A terminal that cannot show a sign shows its number; it does not stop the work.
        stream.reconfigure(errors="backslashreplace")
    return Console(
        file=stream, width=width, highlight=False, markup=False, emoji=False, legacy_windows=False
    )
