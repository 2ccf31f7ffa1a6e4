"""Fingerprints: short names of exact records, for sheets and for the check on load."""

import hashlib
from collections.abc import Iterable


def fingerprint(parts: Iterable[str]) -> str:
    """SHA-256 over length-prefixed UTF-8 parts, hexadecimal. Order matters; no two lists collide
    by shifting text between parts.
    """
    digest = hashlib.sha256()
    for part in parts:
        data = part.encode("utf-8")
        digest.update(len(data).to_bytes(8, "big"))
        digest.update(data)
    return digest.hexdigest()
