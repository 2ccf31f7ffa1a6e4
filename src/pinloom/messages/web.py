"""Wording of the findings of the web stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "web-not-loopback": Wording(
        what="{host} can be reached from other machines, and the page has no logins.",
        do="Leave --host out, or name an address of this machine for its own use.",
    ),
    "web-port-taken": Wording(
        what="Port {port} cannot be used: {reason}.",
        do="Name another one with --port, or 0 for any that is free.",
    ),
    "web-shelf-unreadable": Wording(
        what="The folder of jobs cannot be read: {reason}.",
        do="Name another folder with --jobs, or make this one readable.",
    ),
}
