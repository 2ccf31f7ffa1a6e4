"""What is stamped on a key, and the opaque marks of tags.

Rules. A stamp never shows cuts, never says where a key belongs, and never says "master": a finder
learns nothing from it (common practice, no source). The key's symbol serves where it keeps to that;
otherwise the key gets a number of its own. The copy's number follows. A tag's code is a digest of
the job's name and the key's or door's name, so it stays the same from revision to revision and is
no function of any cut.
"""

import base64
import hashlib
from collections.abc import Iterable

from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat

CODE = 10
_WORDS = ("master",)


def stamps(chart: AccessChart, made: HardwareFormat, extra: Iterable[str] = ()) -> dict[str, str]:
    """Key name -> what is stamped before the copy's number. ``extra`` = names of control keys."""
    places = {door.name.casefold() for door in chart.doors}
    places |= {door.opening.casefold() for door in chart.doors if door.opening}
    names = [key.name for key in chart.keys]
    taken = {name.casefold() for name in names}
    found: dict[str, str] = {}
    number = 0
    for name in (*names, *extra):
        if name in names and _is_harmless(name, made, places):
            found[name] = name
            continue
        number += 1
        while f"k{number:03}" in taken:
            number += 1
        found[name] = f"K{number:03}"
    return found


def _is_harmless(name: str, made: HardwareFormat, places: set[str]) -> bool:
    plain = name.casefold()
    if any(word in plain for word in _WORDS) or plain in places:
        return False
    return made.read_cuts(name) is None and len(name) <= 12


def code(job: str, kind: str, name: str) -> str:
    """The opaque mark of a key's or cylinder's tag."""
    data = "\x00".join((job, kind, name)).encode()
    return base64.b32encode(hashlib.sha256(data).digest()).decode()[:CODE]
