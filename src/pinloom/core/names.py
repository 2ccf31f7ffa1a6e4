"""Order and identity of names. Door 9 comes before door 10; order never depends on the file."""

import re
import unicodedata

_DIGITS = re.compile(r"(\d+)")

NaturalKey = tuple[tuple[int, int, str], ...]


def clean(text: str) -> str:
    """A name as it is stored: Unicode NFC, outer blanks dropped, inner runs of blanks made one."""
    if not text:
        return text
    if not text.isascii():
        text = unicodedata.normalize("NFC", text)
    return " ".join(text.split())


def natural(name: str) -> tuple[NaturalKey, str]:
    """A sort key: digit runs by value, letters without case; the name itself breaks ties."""
    parts: list[tuple[int, int, str]] = []
    for part in _DIGITS.split(name):
        if not part:
            continue
        if part.isdecimal():
            parts.append((0, int(part), ""))
        else:
            parts.append((1, 0, part.casefold()))
    return tuple(parts), name
