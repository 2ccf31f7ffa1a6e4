"""Locking away what nobody may read by accident: bytes in, sealed bytes out, and back.

Two levels. `seal` and `open_sealed` serve a file that stands alone. `Strongbox` serves a store that
seals many things under one data key: the passphrase only wraps that key, so a new passphrase
rewrites one short text and nothing else.

Nothing here knows locks, files or databases, and no error text repeats what was sealed.
"""

from pinloom.vault.box import DataKey, Strongbox
from pinloom.vault.cost import Cost
from pinloom.vault.sealing import Unreadable, change_passphrase, is_sealed, open_sealed, seal

__all__ = [
    "Cost",
    "DataKey",
    "Strongbox",
    "Unreadable",
    "change_passphrase",
    "is_sealed",
    "open_sealed",
    "seal",
]
