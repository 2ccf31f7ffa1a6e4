"""From a passphrase to a key, slowly: Argon2id.

A passphrase is weak; the work spent on each guess is what protects it. Argon2id is deliberately
costly in time and memory (RFC 9106). The cost is written beside each salt, so that it may be raised
later without making older seals unreadable.
"""

import unicodedata
from dataclasses import dataclass

from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

KEY_BYTES = 32  # AES-256
SALT_BYTES = 16  # RFC 9106, section 3.1: 16 bytes are recommended for passwords

# A seal may come from anywhere; reading its cost must not make the program ask for the moon.
_MOST_ROUNDS = 64
_MOST_MEMORY_KIB = 4 * 1024 * 1024
_MOST_LANES = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Argon2id parameters. Default: RFC 9106, section 4, second recommended option (64 MiB)."""

    rounds: int = 3
    memory_kib: int = 64 * 1024
    lanes: int = 4

    def sane(self) -> bool:
        """Whether the numbers are ones that Argon2id allows and this program would spend."""
        return (
            1 <= self.rounds <= _MOST_ROUNDS
            and 1 <= self.lanes <= _MOST_LANES
            and 8 * self.lanes <= self.memory_kib <= _MOST_MEMORY_KIB
        )


def derive(passphrase: str, salt: bytes, cost: Cost) -> bytes:
    """The 32-byte key of a passphrase. NFC first, so that any keyboard gives the same bytes."""
    worker = Argon2id(
        salt=salt,
        length=KEY_BYTES,
        iterations=cost.rounds,
        lanes=cost.lanes,
        memory_cost=cost.memory_kib,
    )
    return worker.derive(unicodedata.normalize("NFC", passphrase).encode("utf-8"))
