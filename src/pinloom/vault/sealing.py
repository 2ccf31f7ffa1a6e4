"""A sealed file that stands alone: a first line that says what it is, the strongbox, the body.

PINLOOM SEALED 1\\n  <strongbox, one line of JSON>\\n  <body>
"""

from enum import Enum

from pinloom.vault.box import Strongbox
from pinloom.vault.cost import Cost

_HEAD = b"PINLOOM SEALED 1\n"
_CONTEXT = "file"
_LONGEST_BOX = 4096


class Unreadable(Enum):
    """Why sealed bytes did not open."""

    NOT_SEALED = "not sealed"  # the first line is another one
    WRONG_PASSPHRASE = "wrong passphrase"  # noqa: S105 (or the key part was altered)
    DAMAGED = "damaged"  # the passphrase fits, the body does not


def seal(plain: bytes, passphrase: str, cost: Cost | None = None) -> bytes:
    """Sealed bytes. The same input gives other bytes each time, by design."""
    box, key = Strongbox.new(passphrase, cost)
    return _HEAD + box.text().encode("ascii") + b"\n" + key.seal(plain, _CONTEXT)


def open_sealed(sealed: bytes, passphrase: str) -> bytes | Unreadable:
    """The plain bytes, or why not."""
    split = _split(sealed)
    if isinstance(split, Unreadable):
        return split
    box, body = split
    key = box.unwrap(passphrase)
    if key is None:
        return Unreadable.WRONG_PASSPHRASE
    plain = key.open(body, _CONTEXT)
    return Unreadable.DAMAGED if plain is None else plain


def change_passphrase(sealed: bytes, old: str, new: str) -> bytes | Unreadable:
    """The same body under a new passphrase, to be written in one replacement of the file."""
    plain = open_sealed(sealed, old)
    if isinstance(plain, Unreadable):
        return plain
    split = _split(sealed)
    box, body = split if not isinstance(split, Unreadable) else (None, b"")
    again = box.rewrap(old, new) if box else None
    if again is None:
        return Unreadable.WRONG_PASSPHRASE
    return _HEAD + again.text().encode("ascii") + b"\n" + body


def is_sealed(data: bytes) -> bool:
    """Whether the bytes begin as sealed ones do."""
    return data.startswith(_HEAD)


def _split(sealed: bytes) -> tuple[Strongbox, bytes] | Unreadable:
    if not is_sealed(sealed):
        return Unreadable.NOT_SEALED
    end = sealed.find(b"\n", len(_HEAD), len(_HEAD) + _LONGEST_BOX)
    if end < 0:
        return Unreadable.DAMAGED
    box = Strongbox.parse(sealed[len(_HEAD) : end].decode("ascii", "replace"))
    return (box, sealed[end + 1 :]) if box else Unreadable.DAMAGED
