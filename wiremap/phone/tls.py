"""A certificate of our own for the address that is served, made once and kept."""

import datetime
import ipaddress
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InternalError, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from wiremap.errors import FileError
from wiremap.files import read_if_there
from wiremap.records.new_file import make_folder, write_over

DAYS = 365
LEFT_DAYS = 14  # made anew before it ends
MOST_PEM_BYTES = 100_000
NO_CERTIFICATE = (x509.InvalidVersion, x509.ExtensionNotFound, x509.DuplicateExtension, x509.UnsupportedGeneralNameType)
HINT = "Remove it; another one is made then."


def certificate(folder: Path, names: tuple[str, ...]) -> tuple[Path, str]:
    """Return the file of a certificate with its key for these names and addresses, and its SHA-256 fingerprint.

    The one that is kept serves as long as it lasts and has all the names. FileError where none can be written.
    """
    path = folder / "certificate.pem"
    now = datetime.datetime.now(datetime.UTC)
    found = _kept(path)
    if found is None or found.not_valid_after_utc < now + datetime.timedelta(days=LEFT_DAYS) or _missing(found, names):
        key = ec.generate_private_key(ec.SECP256R1())
        found = _made(names, key, now)
        secret = key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        make_folder(folder)
        write_over(path, secret + found.public_bytes(serialization.Encoding.PEM), mode=0o600)
    print_of = found.fingerprint(hashes.SHA256()).hex().upper()
    return path, ":".join(print_of[k : k + 2] for k in range(0, len(print_of), 2))


def _kept(path: Path) -> x509.Certificate | None:
    content = read_if_there(path, MOST_PEM_BYTES, HINT)
    if content is None:
        return None
    try:
        found = x509.load_pem_x509_certificate(content)
        key = serialization.load_pem_private_key(content, None)
        if key.public_key() != found.public_key():
            raise ValueError("the key is of another certificate")
        found.extensions.get_extension_for_class(x509.SubjectAlternativeName)
    except (ValueError, TypeError, UnsupportedAlgorithm, InternalError, *NO_CERTIFICATE) as error:
        raise FileError(f"{path}: cannot be read ({str(error)[:120]})", HINT) from error
    return found


def _missing(found: x509.Certificate, names: tuple[str, ...]) -> bool:
    kept = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return any(_name(name) not in list(kept) for name in names)


def _name(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _made(names: tuple[str, ...], key: ec.EllipticCurvePrivateKey, now: datetime.datetime) -> x509.Certificate:
    whose = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "wiremap")])
    return (
        x509.CertificateBuilder()
        .subject_name(whose)
        .issuer_name(whose)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=DAYS))
        .add_extension(x509.SubjectAlternativeName([_name(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
