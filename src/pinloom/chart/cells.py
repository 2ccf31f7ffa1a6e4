"""What single cells mean: names, whole numbers, yes or no, lists of names."""

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass, field

from pinloom.core.findings import Finding, Place, caution, fault
from pinloom.core.names import clean

_YES = frozenset({"yes", "y", "true", "x", "1"})
_NO = frozenset({"", "no", "n", "false", "0"})
_WHOLE = re.compile(r"[0-9]{1,9}")

MOST_WORDS = 8  # of a key's name
CONTROL = "control"  # rows of this name in bittings.csv hold the control key of a core


def whole(text: str, low: int, high: int) -> int | None:
    """A whole number within bounds, or None."""
    text = text.strip()
    if not _WHOLE.fullmatch(text):
        return None
    number = int(text)
    return number if low <= number <= high else None


def yes_or_no(text: str) -> bool | None:
    """True, False, or None for a text that says neither."""
    plain = text.strip().casefold()
    if plain in _YES:
        return True
    return False if plain in _NO else None


def sign_fault(name: str, place: Place) -> Finding | None:
    """A fault when a name holds signs that cannot be seen, which makes equal-looking names differ.

    A zero-width blank pasted from elsewhere gives two doors where a reader sees one.
    """
    if name.isprintable():
        return None
    for sign in name:
        if unicodedata.category(sign) in ("Cc", "Cf", "Co", "Cs", "Cn"):
            return fault("chart-name-sign", place, name=name, sign=f"U+{ord(sign):04X}")
    return None


def is_refused(name: str) -> bool:
    """Whether a key may not have this name because the job's files give it another meaning."""
    plain = name.casefold()
    return plain == CONTROL or plain.startswith(f"{CONTROL}:")


def split_names(text: str, known: Collection[str]) -> list[str]:
    """The names in a cell that lists several, separated by blanks.

    A comma or semicolon separates too, unless it is part of a known name; a known name with blanks
    is found where its words are not all known names themselves. So nothing that the plain rule
    reads is read otherwise.
    """
    words = clean(text).split()
    if all(word in known for word in words):
        return words
    names: list[str] = []
    start = 0
    while start < len(words):
        size = _longest(words, start, known)
        name = " ".join(words[start : start + size])
        start += size
        if name in known:
            names.append(name)
        elif name.rstrip(",;") in known:
            names.append(name.rstrip(",;"))
        else:
            names += [part for part in re.split(r"[,;]+", name) if part]
    return names


def _longest(words: list[str], start: int, known: Collection[str]) -> int:
    """How many words from ``start`` form one known name; 1 when there is no longer one."""
    for end in range(min(len(words), start + MOST_WORDS), start + 1, -1):
        some = words[start:end]
        if " ".join(some).rstrip(",;") in known and not all(word in known for word in some):
            return end - start
    return 1


@dataclass(slots=True)
class NameBook:
    """The names seen so far and where each was first; says which are repeated."""

    twice: str  # code of the fault for the same name again
    first: dict[str, Place] = field(default_factory=dict)
    folded: dict[str, str] = field(default_factory=dict)

    def enter(self, name: str, place: Place, found: list[Finding]) -> bool:
        """Record a name; False, with a fault, when it was there already."""
        if name in self.first:
            found.append(fault(self.twice, place, self.first[name], name=name))
            return False
        plain = name if name.isascii() else unicodedata.normalize("NFKC", name)
        plain = plain.casefold()
        if plain in self.folded:
            other = self.folded[plain]
            found.append(
                caution("chart-names-alike", place, self.first[other], name=name, other=other)
            )
        self.folded.setdefault(plain, name)
        self.first[name] = place
        return True
