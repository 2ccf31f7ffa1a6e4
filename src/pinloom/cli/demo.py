"""``pinloom demo``: the example job, from its chart to its files."""

import os
from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import screen_options

#: command, its arguments, what it is for; only commands that exist are named
NEXT = (
    ("serve", "--jobs {out}", "look at it in a browser, try keys in doors"),
    ("audit", "{job}", "what else opens these doors"),
    ("sheets", "{job} --out {job}-sheets", "paper for the owner and the bench"),
    ("lost", "warden {job}", "if the fire warden lost a key"),
    (
        "design",
        "{doors} --keys {keys} --hardware {format} --out {job}",
        "the same from the copy of its chart, which you may edit",
    ),
)
CALLED = "PINLOOM_CALLED"  # how a wrapper of the program wants it named


@click.command()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("out"),
    metavar="DIR",
    help="Where the chart and the job go; ./out if not given.",
)
@screen_options
def command(out: Path, quiet: bool, as_json: bool, full: bool) -> int:
    """Design, prove and print the example job, the boatyard Alder Quay."""
    from pinloom.cli import COMMANDS
    from pinloom.cli.progress import Progress
    from pinloom.cli.report import Report
    from pinloom.workflow.demo import FORMAT, demo

    report = Report(quiet=quiet, as_json=as_json, full=full)
    with Progress(quiet=quiet or as_json) as progress:
        shown = demo(out, progress)
    result = shown.result
    if result.job is None or result.saved is None:
        return report.refuse(result.findings)
    code = report.job(result.job, result.saved, shown.folder, result.findings)
    if code is Exit.DONE and not as_json:
        called = os.environ.get(CALLED, "pinloom")
        texts = {
            "out": out,
            "job": shown.folder,
            "doors": shown.doors,
            "keys": shown.keys,
            "format": FORMAT,
        }
        report.next_steps(
            [
                (f"{called} {name} {arguments.format(**texts)}".rstrip(), purpose)
                for name, arguments, purpose in NEXT
                if name in COMMANDS
            ]
        )
    return code
