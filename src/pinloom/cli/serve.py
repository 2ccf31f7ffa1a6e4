"""``pinloom serve``: the local page."""

from pathlib import Path

import click

from pinloom.cli.exits import Exit
from pinloom.cli.options import ANY


@click.command()
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=8440,
    metavar="N",
    help="Port of this machine; 8440 if not given, 0 for any that is free.",
)
@click.option(
    "--jobs",
    type=ANY,
    default=Path("out"),
    metavar="DIR",
    help="Folder that holds the job folders; ./out if not given.",
)
@click.option(
    "--host",
    default="127.0.0.1",
    metavar="ADDRESS",
    help="Address of this machine for its own use; any other is refused.",
)
@click.option(
    "--idle",
    type=click.IntRange(1, 240),
    default=15,
    metavar="MINUTES",
    help="Lock the page when nobody touched it for so long; 15 if not given.",
)
@click.option(
    "--ledger",
    default="",
    metavar="PLACE",
    help="Ledger of the key desk: a file or a database's URL; PINLOOM_LEDGER if not given.",
)
@click.option(
    "--clerk", default="", metavar="NAME", help="Who is at the desk; your login name if not given."
)
def command(port: int, jobs: Path, host: str, idle: int, ledger: str, clerk: str) -> int:
    """Open the jobs as a page in the browser of this machine: see, try, pin.

    The secret that the page asks for is shown here, once. Stop with Ctrl-C.
    """
    from pinloom.cli.screen import Screen
    from pinloom.web.serving import serve

    screen = Screen()

    def ready(address: str, secret: str) -> None:
        screen.say(f"The page is at {address} (this machine only).")
        screen.say(f"Its secret, shown once: {secret}")
        screen.say("Type it into the page. Stop with Ctrl-C; everything done is on disk.")

    found = serve(jobs, host, port, idle * 60.0, ready, ledger, clerk)
    return screen.refuse(found) if found else Exit.DONE
