"""Options that several commands share, and what they mean to a use case."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from pinloom.cli.secret import ask, read_secret
from pinloom.core.findings import Finding, fault, has_fault, note
from pinloom.workflow.inputs import ChartSource

Wrap = Callable[[Callable[..., Any]], Callable[..., Any]]
FILE = click.Path(path_type=Path, dir_okay=False)
FOLDER = click.Path(path_type=Path, file_okay=False)
ANY = click.Path(path_type=Path)


def chart_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """CHART and how to read it, as ``pinloom.cli.options.source`` takes them."""
    for wrap in reversed(_CHART):
        function = wrap(function)
    return function


_CHART: tuple[Wrap, ...] = (
    click.argument("chart", type=ANY),
    click.option("--keys", type=ANY, metavar="FILE", help="Table of keys of a schedule."),
    click.option("--sheet", metavar="NAME", help="Sheet of the workbook; the first if not given."),
    click.option(
        "--symbols", is_flag=True, help="The schedule's symbols follow the standard key coding."
    ),
    click.option(
        "--keyways", type=ANY, metavar="FILE", help="Table of blanks and the keyways they enter."
    ),
)


def source(
    chart: Path, keys: Path | None, sheet: str | None, symbols: bool, keyways: Path | None
) -> ChartSource:
    """The chart that the options name."""
    return ChartSource(path=chart, keys=keys, sheet=sheet, symbols=symbols, keyways=keyways)


def hardware_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--hardware FORMAT``."""
    return click.option(
        "--hardware",
        required=True,
        metavar="FORMAT",
        help="Shipped format (see pinloom formats) or a format file.",
    )(function)


def out_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--out DIR``."""
    return click.option(
        "--out",
        required=True,
        type=ANY,
        metavar="DIR",
        help="Job folder to write: new, empty, or a job's.",
    )(function)


def control_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--control``, repeated."""
    return click.option(
        "--control",
        "controls",
        multiple=True,
        metavar="CUTS",
        help="Control key of cores, also GROUP:CUTS; better @FILE or - than the cuts themselves.",
    )(function)


def security_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--security-drivers``."""
    return click.option(
        "--security-drivers",
        is_flag=True,
        help="Use security drivers wherever the format lists them.",
    )(function)


def seal_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--seal`` and ``--passphrase`` of commands that write a folder."""
    function = passphrase_option(function)
    return click.option("--seal", is_flag=True, help="Encrypt the job folder.")(function)


def passphrase_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--passphrase`` of commands that read a folder."""
    return click.option(
        "--passphrase",
        metavar="@FILE",
        help="Passphrase of a sealed job: @FILE, or - for standard input.",
    )(function)


def screen_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """``--quiet``, ``--json``, ``--full``."""
    function = click.option("--full", is_flag=True, help="Show lists whole, however long.")(
        function
    )
    function = click.option("--json", "as_json", is_flag=True, help="Print JSON, without cuts.")(
        function
    )
    return click.option("--quiet", is_flag=True, help="Print the verdict and the files only.")(
        function
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Secrets:
    """Secrets as read; with a fault among the findings the command must not go on."""

    controls: tuple[str, ...] = ()
    passphrase: str | None = None
    findings: tuple[Finding, ...] = ()


def secrets(
    passphrase: str | None = None, *, seal: bool | None = None, controls: tuple[str, ...] = ()
) -> Secrets:
    """Read what the options stand for. Order on standard input: controls, then the passphrase.

    ``seal`` without a passphrase asks for one, twice at a terminal; None = the command has no such
    option. A passphrase seals in any case, which is said where nobody asked for it.
    """
    found: list[Finding] = []
    cuts: list[str] = []
    for text in controls:
        group, _, given = text.rpartition(":") if not text.startswith("@") else ("", "", text)
        read, remarks = read_secret(given, "control key")
        found += remarks
        lines = [line for line in read.splitlines() if line.strip()]
        cuts += [f"{group}:{line}" if group else line for line in lines]
    word: str | None = None
    if passphrase is not None:
        word, remarks = read_secret(passphrase, "passphrase")
        found += remarks
        if seal is False and not has_fault(remarks):
            found.append(note("seal-by-passphrase"))
    elif seal:
        word = ask("passphrase")
        if word is not None and sys.stdin.isatty():
            word = word if ask("passphrase once more") == word else None
        if word is None:
            reason = "nothing, or two different texts, came from standard input"
            found.append(fault("secret-not-read", secret="passphrase", reason=reason))  # noqa: S106
    return Secrets(controls=tuple(cuts), passphrase=word, findings=tuple(found))
