"""Secrets never have to stand on the command line: ``@FILE`` or ``-`` instead of the text.

``-`` takes the next line of standard input, without echo at a terminal. Several secrets of one
command take one line each, in the order in which the guide lists them.
"""

import getpass
import sys
from pathlib import Path

from pinloom.core.findings import Finding, fault, note

LONGEST = 64_000  # characters; a secret is a line, not a film


def read_secret(text: str, what: str) -> tuple[str, tuple[Finding, ...]]:
    """The secret an option stands for, and findings; ``what`` names it for a person."""
    if text == "-":
        line = ask(what)
        if line is None:
            return "", (_unread(what, "standard input is empty"),)
        return line, ()
    if not text.startswith("@"):
        return text, (note("secret-in-history", secret=what),)
    try:
        found = Path(text[1:]).read_text(encoding="utf-8")[:LONGEST].strip("\r\n")
    except UnicodeDecodeError:
        return "", (_unread(what, f"{text[1:]} is no UTF-8 text"),)
    except OSError as error:
        return "", (_unread(what, f"{text[1:]}: {error.strerror or 'not readable'}"),)
    if not found.strip():
        return "", (_unread(what, f"{text[1:]} is empty"),)
    return found, ()


def ask(what: str) -> str | None:
    """A line from standard input, typed without echo at a terminal; None at its end."""
    if sys.stdin.isatty():
        return getpass.getpass(f"{what[0].upper()}{what[1:]}: ") or None
    return sys.stdin.readline().strip("\r\n") or None


def _unread(what: str, reason: str) -> Finding:
    return fault("secret-not-read", secret=what, reason=reason)
