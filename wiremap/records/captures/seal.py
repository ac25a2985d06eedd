"""The seal of a capture: a digest of the record's line and, when signed, an Ed25519 signature over it.

A digest shows a changed byte. A signature shows who kept the key. Neither shows that the tester was honest.
"""

import hashlib
import re
from typing import TYPE_CHECKING

from msgspec import Struct

from wiremap.errors import FileError
from wiremap.records.canonical import HINT, decode, encode

if TYPE_CHECKING:
    from wiremap.records.keys import Key

DIGEST = re.compile(r"sha256:[0-9a-f]{64}")
KEY = re.compile(r"[0-9a-f]{64}")
SIGNATURE = re.compile(r"[0-9a-f]{128}")


class Seal(Struct, frozen=True):
    """The second line of a capture.

    digest: "sha256:" and 64 lower-case hex digits. key: raw Ed25519 public key, hex; signature, hex: both None
    when the capture is not signed.
    """

    digest: str
    key: str | None
    signature: str | None


def digest(content: bytes) -> str:
    """Return the SHA-256 (FIPS 180-4) of the bytes as "sha256:" and lower-case hex."""
    return "sha256:" + hashlib.sha256(content).hexdigest()


def seal(line: bytes, key: "Key | None" = None) -> bytes:
    """Return the seal of a record's line (its LF included) as a line of canonical JSON, signed when a key is given."""
    content = {"digest": digest(line)}
    if key is not None:
        content |= {"key": key.public, "signature": key.sign(line)}
    return encode(content) + b"\n"


def read_seal(line: bytes, place: str) -> Seal:
    """Return the seal in a line (its LF left off); FileError when it is none. Nothing is checked against it yet."""
    plain = decode(line, place)
    allowed = {"digest": DIGEST, "key": KEY, "signature": SIGNATURE}
    if (
        not isinstance(plain, dict)
        or set(plain) not in ({"digest"}, set(allowed))
        or not all(isinstance(text, str) and allowed[name].fullmatch(text) for name, text in plain.items())
    ):
        raise FileError(f"{place}: not a seal", HINT)
    return Seal(plain["digest"], plain.get("key"), plain.get("signature"))


def signature_holds(line: bytes, mark: Seal) -> bool:
    """Whether the seal's signature was made over this line (its LF included) with the key it names (RFC 8032)."""
    if mark.key is None or mark.signature is None:
        return False
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(mark.key)).verify(bytes.fromhex(mark.signature), line)
    except (InvalidSignature, ValueError):
        return False
    return True
