"""The envelope: a random data key seals everything, the passphrase seals only the data key.

    data key (random, 256 bits) --AES-256-GCM--> every sealed body
    passphrase --Argon2id--> wrapping key --AES-256-GCM--> the wrapped data key

Changing the passphrase wraps the same data key anew. The text of a strongbox is short and is
replaced whole, so a change has either happened or not. Consequence to know: who once held both the
old text and the old passphrase holds the data key; a new passphrase does not take it back.

Every seal is bound to a context (what and where it is), so a body moved to another place does not
open there. Nonces are 96 random bits (NIST SP 800-38D, 8.2.2), fit for 2^32 seals a key.
"""

import base64
import binascii
import hashlib
import json
import os
from dataclasses import dataclass, field

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import hashes, hmac
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDFExpand

from pinloom.vault.cost import KEY_BYTES, SALT_BYTES, Cost, derive

NONCE_BYTES = 12
TAG_BYTES = 16
_VERSION = 1
_PAD = 1024  # sealed lengths are rounded up to this, so that they tell little


@dataclass(frozen=True, slots=True, kw_only=True)
class DataKey:
    """The key that seals and opens. Its repr shows nothing."""

    raw: bytes = field(repr=False)

    def seal(self, plain: bytes, context: str) -> bytes:
        """Sealed bytes: nonce, then padded ciphertext and tag."""
        nonce = os.urandom(NONCE_BYTES)
        return nonce + AESGCM(self.raw).encrypt(nonce, _padded(plain), context.encode("utf-8"))

    def open(self, sealed: bytes, context: str) -> bytes | None:
        """The plain bytes; None when they were altered, moved or sealed under another key."""
        if len(sealed) < NONCE_BYTES + TAG_BYTES:
            return None
        nonce, body = sealed[:NONCE_BYTES], sealed[NONCE_BYTES:]
        try:
            padded = AESGCM(self.raw).decrypt(nonce, body, context.encode("utf-8"))
        except InvalidTag:
            return None
        return padded[8 : 8 + int.from_bytes(padded[:8], "big")]

    def mark(self, data: bytes, context: str) -> str:
        """A keyed fingerprint, hexadecimal: equal data gives equal marks to holders of the key
        only. A plain hash of cuts could be undone by trying all of them.
        """
        sub = HKDFExpand(
            algorithm=hashes.SHA256(), length=KEY_BYTES, info=b"mark:" + context.encode("utf-8")
        ).derive(self.raw)
        mac = hmac.HMAC(sub, hashes.SHA256())
        mac.update(data)
        return mac.finalize().hex()


@dataclass(frozen=True, slots=True, kw_only=True)
class Strongbox:
    """A wrapped data key with all that is needed to unwrap it, except the passphrase."""

    salt: bytes
    cost: Cost
    wrapped: bytes

    @staticmethod
    def new(passphrase: str, cost: Cost | None = None) -> "tuple[Strongbox, DataKey]":
        """A strongbox around a fresh data key, and that key."""
        key = DataKey(raw=os.urandom(KEY_BYTES))
        return Strongbox._around(key, passphrase, cost or Cost()), key

    @staticmethod
    def _around(key: DataKey, passphrase: str, cost: Cost) -> "Strongbox":
        salt = os.urandom(SALT_BYTES)
        wrapping = AESGCM(derive(passphrase, salt, cost))
        nonce = os.urandom(NONCE_BYTES)
        wrapped = nonce + wrapping.encrypt(nonce, key.raw, _context(salt, cost))
        return Strongbox(salt=salt, cost=cost, wrapped=wrapped)

    def unwrap(self, passphrase: str) -> DataKey | None:
        """The data key, or None when the passphrase is wrong (or the box was altered)."""
        wrapping = AESGCM(derive(passphrase, self.salt, self.cost))
        nonce, body = self.wrapped[:NONCE_BYTES], self.wrapped[NONCE_BYTES:]
        try:
            return DataKey(raw=wrapping.decrypt(nonce, body, _context(self.salt, self.cost)))
        except InvalidTag:
            return None

    def rewrap(self, old: str, new: str, cost: Cost | None = None) -> "Strongbox | None":
        """The same data key under a new passphrase, with a fresh salt; None when old is wrong."""
        key = self.unwrap(old)
        return None if key is None else Strongbox._around(key, new, cost or self.cost)

    def text(self) -> str:
        """One line of JSON to keep beside what is sealed."""
        return json.dumps(
            {
                "version": _VERSION,
                "kdf": "argon2id",
                "rounds": self.cost.rounds,
                "memory_kib": self.cost.memory_kib,
                "lanes": self.cost.lanes,
                "salt": base64.b64encode(self.salt).decode("ascii"),
                "wrapped": base64.b64encode(self.wrapped).decode("ascii"),
            },
            separators=(",", ":"),
        )

    @staticmethod
    def parse(text: str) -> "Strongbox | None":
        """A strongbox of its text; None when the text is none that this version writes."""
        try:
            box = _parsed(json.loads(text))
        except (ValueError, KeyError, TypeError, binascii.Error):
            return None
        fits = len(box.salt) == SALT_BYTES and box.cost.sane()
        return box if fits and len(box.wrapped) == NONCE_BYTES + KEY_BYTES + TAG_BYTES else None

    def fingerprint(self) -> str:
        """SHA-256 of the text, hexadecimal: tells two boxes apart and tells nothing else."""
        return hashlib.sha256(self.text().encode("ascii")).hexdigest()


def _parsed(raw: dict[str, object]) -> Strongbox:
    if raw["version"] != _VERSION or raw["kdf"] != "argon2id":
        raise ValueError("another version")
    return Strongbox(
        salt=base64.b64decode(str(raw["salt"]), validate=True),
        cost=Cost(
            rounds=int(str(raw["rounds"])),
            memory_kib=int(str(raw["memory_kib"])),
            lanes=int(str(raw["lanes"])),
        ),
        wrapped=base64.b64decode(str(raw["wrapped"]), validate=True),
    )


def _context(salt: bytes, cost: Cost) -> bytes:
    numbers = f"strongbox:{_VERSION}:{cost.rounds}:{cost.memory_kib}:{cost.lanes}:"
    return numbers.encode("ascii") + salt


def _padded(plain: bytes) -> bytes:
    body = len(plain).to_bytes(8, "big") + plain
    return body + bytes(-len(body) % _PAD)
