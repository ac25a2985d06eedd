"""Digest, signature and canonical JSON against the published vectors, through this project's own functions."""

import json
import shutil
import struct
import subprocess
from pathlib import Path

import nacl.exceptions
import nacl.signing
import pytest

from tests.records.samples import content, published_key
from wiremap.errors import FileError
from wiremap.records.canonical import decode, encode
from wiremap.records.captures.seal import Seal, digest, read_seal, signature_holds
from wiremap.records.keys import key_from_secret, public_pem

# RFC 8032 section 7.1, tests 1 to 3: secret key, public key, message, signature.
RFC_8032 = (
    (
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595b"
        "be24655141438e7a100b",
    ),
    (
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb430"
        "2aeeb00d291612bb0c00",
    ),
    (
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716e"
        "d28dc027beceea1ec40a",
    ),
)

# RFC 8785 section 3.2.2, its example and the result's SHA-256.
RFC_8785_EXAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
RFC_8785_SHA = "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb"

# The input and output pairs of the reference implementation that RFC 8785 names (cyberphone/json-canonicalization).
CANONICAL = {
    "arrays": ('[56, {"d": true, "10": null, "1": [ ]}]', '[56,{"1":[],"10":null,"d":true}]'),
    "french": (
        '{"peach":"This sorting order","p\u00e9ch\u00e9":"is wrong according to French",'
        '"p\u00eache":"but canonicalization MUST","sin":"ignore locale"}',
        '{"peach":"This sorting order","p\u00e9ch\u00e9":"is wrong according to French",'
        '"p\u00eache":"but canonicalization MUST","sin":"ignore locale"}',
    ),
    "structures": (
        r'{"1": {"f": {"f": "hi","F": 5} ,"\n": 56.0}, "10": {}, "": "empty", "a": {}, "111": [{"e": "yes","E": "no"}],'
        r'"A": {}}',
        r'{"":"empty","1":{"\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}',
    ),
    "unicode": (r'{"Unnormalized Unicode":"A\u030a"}', '{"Unnormalized Unicode":"A\u030a"}'),
    "weird": (
        r'{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\u000a": "Newline", "1": "One", "\u0080": "Control\u007f",'
        r'"\ud83d\ude02": "Smiley", "\u00f6": "Latin Small Letter O With Diaeresis",'
        r'"\ufb33": "Hebrew Letter Dalet With Dagesh", "</script>": "Browser Challenge"}',
        '{"\\n":"Newline","\\r":"Carriage Return","1":"One","</script>":"Browser Challenge","\u0080":"Control\u007f",'
        '"\u00f6":"Latin Small Letter O With Diaeresis","\u20ac":"Euro Sign","\U0001f602":"Smiley",'
        '"\ufb33":"Hebrew Letter Dalet With Dagesh"}',
    ),
}

# RFC 8785 appendix B: IEEE 754 bits and the number as it is written; None = not allowed there (from memory).
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "7fffffffffffffff": None,
    "7ff0000000000000": None,
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}
# Rows of the same table that are whole numbers beyond 2^53 - 1: a capture keeps such numbers within 2^53 - 1.
TOO_LARGE = ("4340000000000000", "c340000000000000", "4430000000000000", "444b1ae4d6e2ef4e", "444b1ae4d6e2ef4f")


def test_digest_is_sha_256() -> None:
    """The digest of "abc" is that of FIPS 180-4, and of nothing at all that of the same standard's examples."""
    assert digest(b"abc") == "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest(b"") == "sha256:e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


@pytest.mark.parametrize(("secret", "public", "message", "signature"), RFC_8032)
def test_signatures_are_those_of_rfc_8032(secret: str, public: str, message: str, signature: str) -> None:
    """Key, signature and check give the values of RFC 8032 section 7.1, and another message or key does not pass."""
    key = key_from_secret(bytes.fromhex(secret))
    line = bytes.fromhex(message)
    assert key.public == public
    assert key.sign(line) == signature
    assert signature_holds(line, Seal("", public, signature))
    assert not signature_holds(line + b"x", Seal("", public, signature))
    assert not signature_holds(line, Seal("", "0" * 64, signature))
    assert not signature_holds(line, Seal("", "f" * 64, signature))


def test_canonical_json_is_that_of_rfc_8785() -> None:
    """The example of RFC 8785 section 3.2.2 is written in 118 bytes with the published digest."""
    written = encode(json.loads(RFC_8785_EXAMPLE))
    assert len(written) == 118
    assert digest(written) == f"sha256:{RFC_8785_SHA}"
    assert encode(decode(written, "x")) == written


@pytest.mark.parametrize("name", CANONICAL)
def test_canonical_json_is_that_of_the_reference(name: str) -> None:
    """Each pair of the reference implementation is written as it says, and read back."""
    given, wanted = CANONICAL[name]
    assert encode(json.loads(given)) == wanted.encode()
    assert encode(decode(wanted.encode(), "x")) == wanted.encode()


@pytest.mark.parametrize(("bits", "wanted"), NUMBERS.items())
def test_numbers_are_written_as_rfc_8785_does(bits: str, wanted: str | None) -> None:
    """Each number of RFC 8785 appendix B is written as its table says; NaN and inf are refused."""
    value = struct.unpack(">d", bytes.fromhex(bits))[0]
    if wanted is None:
        with pytest.raises(FileError):
            encode(value)
    else:
        assert encode(value) == wanted.encode()
        assert decode(wanted.encode(), "x") == value


@pytest.mark.parametrize("bits", TOO_LARGE)
def test_whole_numbers_that_would_not_come_back_are_refused(bits: str) -> None:
    """A whole number beyond 2^53 - 1 is refused, as a float and as a whole number."""
    value = struct.unpack(">d", bytes.fromhex(bits))[0]
    for held in (value, int(value)):
        with pytest.raises(FileError):
            encode({"a": [held]})


def test_another_implementation_verifies_our_signature() -> None:
    """PyNaCl (libsodium) accepts a signature made here, and none over another line."""
    line, _, rest = content(key=published_key()).partition(b"\n")
    mark = read_seal(rest[:-1], "x")
    assert mark.key is not None
    assert mark.signature is not None
    other = nacl.signing.VerifyKey(bytes.fromhex(mark.key))
    other.verify(line + b"\n", bytes.fromhex(mark.signature))
    with pytest.raises(nacl.exceptions.BadSignatureError):
        other.verify(line, bytes.fromhex(mark.signature))


def test_a_signature_of_another_implementation_holds_here() -> None:
    """A signature made by PyNaCl over a record's line is accepted here."""
    line = content().partition(b"\n")[0] + b"\n"
    other = nacl.signing.SigningKey(b"\x07" * 32)
    signature = other.sign(line).signature.hex()
    assert signature_holds(line, Seal(digest(line), other.verify_key.encode().hex(), signature))


def test_head_and_openssl_check_a_signature(tmp_path: Path) -> None:
    """With `head` and `openssl` alone a signature is checked, by the recipe that README.md prints."""
    openssl = shutil.which("openssl")
    if openssl is None or shutil.which("head") is None:
        pytest.skip("openssl or head is not installed")
    recipe = _recipe()
    capture, public = tmp_path / "capture.json", tmp_path / "signer.pem"
    capture.write_bytes(content(key=published_key()))
    public.write_bytes(public_pem(published_key().public))

    def run() -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["sh", "-e", "-c", recipe], cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False
        )

    good = run()
    assert good.returncode == 0, good.stderr
    assert "Verified Successfully" in good.stdout
    capture.write_bytes(capture.read_bytes().replace(b"helm-01", b"helm-02", 1))
    bad = run()
    assert bad.returncode != 0
    assert "Verified Successfully" not in bad.stdout


def _recipe() -> str:
    """Return the commands that README.md prints for checking a signature by hand."""
    text = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    return text.split("```sh\n")[1].split("```")[0]
