"""The grammar of the trade's standard key symbols.

Standard key coding names a key so that its place in the system can be read from the name.
Published descriptions: the Door and Hardware Institute's "Keying Systems and Nomenclature" and the
glossary of the Locksmith Industry and Security Training Council. What follows is stated from memory
of those texts; where shops differ, the file's own table of keys decides.

    symbol   = level | single | keyset
    level    = "GMK" | "GGM" ["K"] | "GGGM" ["K"] | "TMK"     the key above every letter
    single   = "SKD" number                                    single keyed, no master above it
    keyset   = letters [number]                                AA = a master, AA1 = a change key
    cylinder = symbol ["(NMK)"] | "X" keyset | "X" number "X"

- A change key stands under the master of its letters (AA1 under AA); a master stands under the
  master of its letters less the last (AA under A). How many letters a system uses is its number of
  levels: AA, AA1 alone are two levels; A, AA, AA1 are three; GGM, A, AA, AA1 are four.
- ``(NMK)``, not master keyed: the change key alone, no master.
- ``XAA1``: cross-keyed; AA1 and its masters, and further keys that a schedule must list.
- ``X1X``: cross-keyed without a change key of its own; the listed keys and their masters only.
- I and O look like figures and are left out by most shops; they are read all the same. X as first
  letter is kept for cross-keying.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from enum import Enum

from pinloom.core.names import natural

#: keys above every letter, lowest first
LEVELS = ("GMK", "GGM", "GGMK", "GGGM", "GGGMK", "TMK")

_KEYSET = re.compile(r"(?!X)([A-Z]{1,4})([1-9][0-9]{0,4})?")
_SINGLE = re.compile(r"SKD[1-9][0-9]{0,4}")
_CROSS = re.compile(r"X(?:([1-9][0-9]{0,4})X|([A-Z]{1,4}[1-9][0-9]{0,4}))")
_NMK = re.compile(r"(.+?)\(NMK\)")


class SymbolKind(Enum):
    """What a key symbol stands for."""

    LEVEL = "level"
    SINGLE = "single keyed"
    MASTER = "master"
    CHANGE = "change key"


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderSymbol:
    """A symbol as a schedule writes it at a door. ``key`` is empty for ``X1X``."""

    key: str
    not_master_keyed: bool = False
    crossed: bool = False


def kind_of(name: str) -> SymbolKind | None:
    """What the symbol of a key stands for, or None when it is no standard symbol."""
    if name in LEVELS:
        return SymbolKind.LEVEL
    if _SINGLE.fullmatch(name):
        return SymbolKind.SINGLE
    keyset = _KEYSET.fullmatch(name)
    if keyset is None:
        return None
    return SymbolKind.CHANGE if keyset[2] else SymbolKind.MASTER


def read_cylinder(text: str) -> CylinderSymbol | None:
    """The symbol of a cylinder, or None when the text is none."""
    marked = _NMK.fullmatch(text)
    plain = marked[1] if marked else text
    cross = _CROSS.fullmatch(plain)
    if cross is not None:
        key = cross[2] or ""
        if marked or (key and kind_of(key) is None):
            return None  # who opens it is listed, so NMK would only contradict the list
        return CylinderSymbol(key=key, crossed=True)
    if kind_of(plain) is None:
        return None
    return CylinderSymbol(key=plain, not_master_keyed=marked is not None)


def letters_of(name: str) -> str:
    """The letters of a keyset; empty for other symbols."""
    keyset = _KEYSET.fullmatch(name)
    if keyset is None or kind_of(name) in (SymbolKind.LEVEL, SymbolKind.SINGLE):
        return ""
    return keyset[1]


def master_of(name: str, present: Collection[str]) -> str:
    """The nearest master above a key among those present; empty when none is."""
    kind = kind_of(name)
    if kind is None or kind is SymbolKind.SINGLE:
        return ""
    levels = [level for level in LEVELS if level in present]
    if kind is SymbolKind.LEVEL:
        above = LEVELS[LEVELS.index(name) + 1 :]
        return next((level for level in above if level in present), "")
    letters = letters_of(name)
    longest = len(letters) if kind is SymbolKind.CHANGE else len(letters) - 1
    for length in range(longest, 0, -1):
        if letters[:length] in present:
            return letters[:length]
    return levels[0] if levels else ""


def implied_masters(present: Iterable[str]) -> list[str]:
    """Masters that the symbols of a file call for although no row names them.

    The longest beginning that all letters share is the top master: AA for AA1 and AA2 (two
    levels), A for AA1 and AB1 (three). Where the first letters differ too, the top is a key above
    the letters (GGM for four levels), unless the file names one.
    """
    names = set(present)
    groups = {letters for name in names if (letters := letters_of(name))}
    if not groups:
        return []
    shared = _shared_start(groups)
    wanted = {
        letters[:length]
        for letters in groups
        for length in range(max(1, len(shared)), len(letters) + 1)
    }
    if not shared and not names & set(LEVELS):
        deepest = max(len(letters) for letters in groups)
        wanted.add({1: "GMK", 2: "GGM"}.get(deepest, "GGGM"))
    return sorted(wanted - names, key=natural)


def _shared_start(words: Collection[str]) -> str:
    """The longest beginning that all words share."""
    low, high = min(words), max(words)  # what these two share, all between them share
    length = 0
    while length < min(len(low), len(high)) and low[length] == high[length]:
        length += 1
    return low[:length]
