"""A job folder's files as one sealed file, and back.

Everything the folder holds goes into one text and is sealed as a whole (``pinloom.vault``), so that
a sealed folder does not even tell how many doors there are. The same job sealed twice gives other
bytes, on purpose.
"""

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # ciphers are slow to load, and most folders are not sealed
    from pinloom.vault import Unreadable

SEALED = "job.sealed"


def seal_files(files: Mapping[str, bytes], passphrase: str) -> dict[str, bytes]:
    """The set of files that stands for these: one sealed file."""
    from pinloom.vault import seal

    plain = json.dumps({name: data.decode("utf-8") for name, data in files.items()})
    return {SEALED: seal(plain.encode("utf-8"), passphrase)}


def unseal_files(sealed: bytes, passphrase: str) -> "dict[str, bytes] | Unreadable":
    """The files inside, or why they cannot be had."""
    from pinloom.vault import Unreadable, open_sealed

    plain = open_sealed(sealed, passphrase)
    if isinstance(plain, Unreadable):
        return plain
    return {name: text.encode("utf-8") for name, text in json.loads(plain).items()}
