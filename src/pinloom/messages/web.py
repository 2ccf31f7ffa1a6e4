"""Wording of the findings of the web stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {
    "web-clear-beside-seal": Wording(
        what="An edited chart lies in the clear beside this sealed job: it names doors and keys.",
        do="Remove that file, or keep it somewhere closed.",
    ),
    "web-name-taken": Wording(
        what="There is something called {name} in the folder of jobs already.",
        do="Give the new job another name.",
    ),
    "web-name-unusable": Wording(
        what="That is no name for a job: it is empty, too long, or has signs that a folder cannot "
        "have.",
        do="Give it a plain name of at most 80 signs.",
    ),
    "web-no-chart": Wording(
        what="There is no chart: no file was chosen and nothing was pasted.",
        do="Paste the table from a spreadsheet, or choose a file.",
    ),
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
