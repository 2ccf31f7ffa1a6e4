"""Seals open with their passphrase alone, whole or not at all, and match published vectors."""

import json

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.vault import (
    Cost,
    DataKey,
    Strongbox,
    Unreadable,
    change_passphrase,
    is_sealed,
    open_sealed,
    seal,
)
from pinloom.vault.cost import derive

QUICK = Cost(rounds=1, memory_kib=8, lanes=1)

# NIST CAVP, GCM test vectors, file gcmEncryptExtIV256.rsp (CAVS 14.0), first entry of five
# sections, as shipped with the vectors of the `cryptography` library. Seen.
GCM = [
    # key, nonce, plain, context, ciphertext and tag
    (
        "b52c505a37d78eda5dd34f20c22540ea1b58963cf8e5bf8ffa85f9f2492505b4",
        "516c33929df5a3284ff463d7",
        "",
        "",
        "bdc1ac884d332457a1d2664f168c76f0",
    ),
    (
        "78dc4e0aaf52d935c3c01eea57428f00ca1fd475f5da86a49c8dd73d68c8e223",
        "d79cf22d504cc793c3fb6c8a",
        "",
        "b96baa8c1c75a671bfb2d08d06be5f36",
        "3e5d486aa2e30b22e040b85723a06e76",
    ),
    (
        "31bdadd96698c204aa9ce1448ea94ae1fb4a9a0b3c9d773b51bb1822666b8f22",
        "0d18e06c7c725ac9e362e1ce",
        "2db5168e932556f8089a0622981d017d",
        "",
        "fa4362189661d163fcd6a56d8bf0405a" + "d636ac1bbedd5cc3ee727dc2ab4a9489",
    ),
    (
        "83688deb4af8007f9b713b47cfa6c73e35ea7a3aa4ecdb414dded03bf7a0fd3a",
        "0b459724904e010a46901cf3",
        "33d893a2114ce06fc15d55e454cf90c3",
        "794a14ccd178c8ebfd1379dc704c5e208f9d8424",
        "cc66bee423e3fcd4c0865715e9586696" + "0fb291bd3dba94a1dfd8b286cfb97ac5",
    ),
    (
        "24501ad384e473963d476edcfe08205237acfd49b5b8f33857f8114e863fec7f",
        "9ff18563b978ec281b3f2794",
        (
            "27f348f9cdc0c5bd5e66b1ccb63ad920ff2219d14e8d631b3872265cf117ee86"
            "757accb158bd9abb3868fdc0d0b074b5f01b2c"
        ),
        "adb5ec720ccf9898500028bf34afccbcaca126ef",
        "eb7cb754c824e8d96f7c6d9b76c7d26fb874ffbf1d65c6f64a698d839b0b0614"
        "5dae82057ad55994cf59ad7f67c0fa5e85fab8" + "bc95c532fecc594c36d1550286a7a3f0",
    ),
]

# RFC 9106, section 5.3 (the first), and the argon2 command-line tool (the second), both as shipped
# with the vectors of the `cryptography` library (KDF/argon2id.txt). Seen.
RFC_TAG = "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
PLAIN_TAG = "03aab965c12001c9d7d0d2de33192c0494b684bb148196d73c1df1acaf6d0c2e"


@pytest.mark.published
@pytest.mark.parametrize(("key", "nonce", "plain", "context", "sealed"), GCM)
def test_aes_gcm_gives_the_published_values(
    key: str, nonce: str, plain: str, context: str, sealed: str
) -> None:
    """The cipher under every seal gives NIST's ciphertexts and tags, and opens them again."""
    cipher = AESGCM(bytes.fromhex(key))
    aad, iv = bytes.fromhex(context), bytes.fromhex(nonce)
    assert cipher.encrypt(iv, bytes.fromhex(plain), aad).hex() == sealed
    assert cipher.decrypt(iv, bytes.fromhex(sealed), aad).hex() == plain


@pytest.mark.published
def test_argon2id_gives_the_published_values() -> None:
    """The key derivation gives RFC 9106's tag, and ours is the same function without extras."""
    full = Argon2id(
        salt=b"\x02" * 16,
        length=32,
        iterations=3,
        lanes=4,
        memory_cost=32,
        secret=b"\x03" * 8,
        ad=b"\x04" * 12,
    )
    assert full.derive(b"\x01" * 32).hex() == RFC_TAG
    cost = Cost(rounds=3, memory_kib=32, lanes=4)
    assert derive("\x01" * 32, b"\x02" * 16, cost).hex() == PLAIN_TAG


def test_default_cost_is_the_recommended_one() -> None:
    """RFC 9106, section 4: t=3, p=4, m=2^16 KiB where memory is scarce. From memory."""
    assert Cost() == Cost(rounds=3, memory_kib=65536, lanes=4)


@settings(max_examples=40)
@given(st.binary(max_size=3000), st.text(min_size=1, max_size=30))
def test_a_seal_opens_to_what_was_sealed(plain: bytes, passphrase: str) -> None:
    """Any bytes under any passphrase come back; nothing of a long plain text shows."""
    sealed = seal(plain, passphrase, QUICK)
    assert is_sealed(sealed)
    assert open_sealed(sealed, passphrase) == plain
    assert open_sealed(sealed, passphrase + "x") is Unreadable.WRONG_PASSPHRASE
    assert len(plain) < 8 or plain not in sealed


def test_every_changed_byte_is_noticed() -> None:
    """No single altered byte of a sealed file opens, wherever it is."""
    sealed = seal(b"345621", "lofts and sails", QUICK)
    for at in range(len(sealed)):
        changed = bytearray(sealed)
        changed[at] ^= 1
        assert isinstance(open_sealed(bytes(changed), "lofts and sails"), Unreadable), at
    for cut in (0, 5, 40, len(sealed) - 1):
        assert isinstance(open_sealed(sealed[:cut], "lofts and sails"), Unreadable)


def test_new_passphrase_keeps_the_body() -> None:
    """A change rewraps the key only: the new passphrase opens, the old one does not."""
    sealed = seal(b"345621", "old words", QUICK)
    again = change_passphrase(sealed, "old words", "new words")
    assert isinstance(again, bytes)
    assert open_sealed(again, "new words") == b"345621"
    assert open_sealed(again, "old words") is Unreadable.WRONG_PASSPHRASE
    assert again[-200:] == sealed[-200:]
    assert change_passphrase(sealed, "guess", "new words") is Unreadable.WRONG_PASSPHRASE
    assert change_passphrase(b"plain", "a", "b") is Unreadable.NOT_SEALED


def test_passphrase_is_the_same_on_every_keyboard() -> None:
    """An accent typed as one sign or as two is the same passphrase (NFC)."""
    assert open_sealed(seal(b"x", "se\u0301same", QUICK), "s\u00e9same") == b"x"


def test_a_seal_opens_only_in_its_place() -> None:
    """A body bound to one context does not open under another, nor under another key."""
    box, key = Strongbox.new("words", QUICK)
    sealed = key.seal(b"cuts", "revision 1")
    assert key.open(sealed, "revision 1") == b"cuts"
    assert key.open(sealed, "revision 2") is None
    assert DataKey(raw=bytes(32)).open(sealed, "revision 1") is None
    assert key.open(b"short", "revision 1") is None
    assert box.unwrap("words") == key
    assert box.unwrap("other words") is None


def test_marks_are_equal_for_equal_data_only() -> None:
    """Marks compare data without showing it: they depend on data, context and key."""
    key, other = (Strongbox.new("w", QUICK)[1] for _ in range(2))
    assert key.mark(b"345621", "a") == key.mark(b"345621", "a")
    marks = {key.mark(b"345621", "a"), key.mark(b"345622", "a"), key.mark(b"345621", "b")}
    assert len(marks | {other.mark(b"345621", "a")}) == 4


def test_strongbox_text_round_trips_and_refuses_nonsense() -> None:
    """The kept text gives the same box; altered or outrageous ones are refused before any work."""
    box, _ = Strongbox.new("words", QUICK)
    assert Strongbox.parse(box.text()) == box
    assert len(box.fingerprint()) == 64
    raw = json.loads(box.text())
    for change in (
        {"version": 2},
        {"memory_kib": 2**40},
        {"rounds": 0},
        {"salt": "AA=="},
        {"salt": "*"},
        {"wrapped": ""},
        {"kdf": "md5"},
    ):
        assert Strongbox.parse(json.dumps(raw | change)) is None, change
    for text in ("", "[]", "{}", "3"):
        assert Strongbox.parse(text) is None


def test_keys_are_never_shown() -> None:
    """The repr of a data key shows nothing of it."""
    key = DataKey(raw=b"secret-secret-secret-secret-1234")
    assert "secret" not in repr(key)
    assert "secret" not in str(key)
