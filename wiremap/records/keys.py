"""Signing keys: Ed25519, PEM files that openssl reads too, the user's own made on first use."""

import contextlib
import os
import re
import stat
from dataclasses import dataclass, field
from pathlib import Path

from wiremap.errors import FileError
from wiremap.files import is_there, opened
from wiremap.records.home import home
from wiremap.records.new_file import as_file_error, make_folder, take_away_old_parts, write_new

LARGEST_KEY_BYTES = 10_000
MOST_SAID = 120  # letters of what the library says is wrong
OWN_KEY = "signing.pem"


@dataclass(frozen=True, slots=True)
class Key:
    """A signing key; public: the raw public key, 64 hex digits. The secret part is not shown."""

    public: str
    _secret: bytes = field(repr=False)

    def sign(self, content: bytes) -> str:
        """Return the Ed25519 signature (RFC 8032) over the bytes, 128 hex digits."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self._secret).sign(content).hex()


def key_from_secret(secret: bytes) -> Key:
    """Return the key of a raw secret of 32 bytes."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    return Key(Ed25519PrivateKey.from_private_bytes(secret).public_key().public_bytes_raw().hex(), secret)


def read_key(path: Path) -> Key:
    """Read a secret key file (PEM, PKCS 8, no passphrase); refused when others may read it."""
    from cryptography.exceptions import InternalError, UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    content, mode = _read(path)
    if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
        raise FileError(f"{path}: others may read this secret key", f"Run: chmod 600 {path}")
    try:
        secret = load_pem_private_key(content, None)
    except (ValueError, TypeError, UnsupportedAlgorithm, InternalError) as error:
        raise FileError(
            f"{path}: not a secret key that can be used ({str(error)[:MOST_SAID]})",
            "Make one with: openssl genpkey -algorithm ed25519 -out FILE",
        ) from error
    if not isinstance(secret, Ed25519PrivateKey):
        raise FileError(f"{path}: not an Ed25519 key", "Make one with: openssl genpkey -algorithm ed25519 -out FILE")
    return key_from_secret(secret.private_bytes_raw())


def own_key() -> Key:
    """Return the user's own key; made on first use under keys/, folder 0700, file 0600."""
    folder = home() / "keys"
    path = folder / OWN_KEY
    if is_there(path):
        take_away_old_parts(folder)  # a copy of the secret, where the program was killed as it made it
    else:
        _make(folder)
    return read_key(path)


def choose_key(option: str | None) -> Key | None:
    """Return what `--key` means: None the user's own key, "none" no signature, else a secret key file."""
    if option is None:
        return own_key()
    return None if option == "none" else read_key(Path(option))


def known_keys() -> dict[str, str]:
    """Return the public keys the user knows (hex: name): their own, and each PEM file in keys/known/."""
    folder = home() / "keys"
    found = {}
    for path in sorted((folder / "known").glob("*.pem")):
        found[read_public(str(path))] = path.stem
    if is_there(folder / OWN_KEY):
        found[read_key(folder / OWN_KEY).public] = "own"
    return found


def read_public(word: str) -> str:
    """Return a public key, hex, given as 64 hex digits or as a PEM file of the public or the secret key."""
    if re.fullmatch(r"[0-9a-fA-F]{64}", word):
        return word.lower()
    from cryptography.exceptions import InternalError, UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import load_pem_public_key

    path = Path(word)
    content, _ = _read(path)
    if b"PRIVATE KEY" in content:
        return read_key(path).public
    try:
        public = load_pem_public_key(content)
    except (ValueError, TypeError, UnsupportedAlgorithm, InternalError) as error:
        raise FileError(
            f"{path}: not a public key ({str(error)[:MOST_SAID]})",
            "Give 64 hex digits, or a PEM file with an Ed25519 public key.",
        ) from error
    if not isinstance(public, Ed25519PublicKey):
        raise FileError(f"{path}: not an Ed25519 key", "Give the public key of the one who signed.")
    return public.public_bytes_raw().hex()


def public_pem(public: str) -> bytes:
    """Return a public key as the PEM that openssl reads."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    found = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
    return found.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def _read(path: Path) -> tuple[bytes, int]:
    try:
        with opened(path) as file:
            return file.read(LARGEST_KEY_BYTES), os.fstat(file.fileno()).st_mode
    except OSError as error:
        raise FileError(f"{path}: cannot be read ({error.strerror})", "Check the name of the key file.") from error


def _make(folder: Path) -> None:
    """Make a key; of two processes that do so at once, one key stays."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    hint = "Set WIREMAP_HOME to a folder you may write, or give --key none."
    make_folder(folder, hint, 0o700)
    secret = Ed25519PrivateKey.generate()
    content = secret.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    with as_file_error(folder / OWN_KEY, hint), contextlib.suppress(FileExistsError):
        write_new(folder / OWN_KEY, content, 0o600)
