"""Values to bytes and back in one way only: JSON as RFC 8785 writes it.

Reading demands that the bytes are exactly those that writing the decoded value gives. So duplicate keys, other
spellings of a number, spare blanks and text after the value all show.
"""

import re
from typing import Any

from wiremap.errors import FileError

LARGEST_WHOLE = 2**53 - 1
WRITTEN_WITH_EXPONENT = 1e21
LARGEST_RECORD_BYTES = 16_000_000
HINT = "A capture is written by wiremap and never edited; ask for the file as it was written."


def encode(value: Any) -> bytes:
    """Return the RFC 8785 bytes of plain dicts, lists, texts, numbers, bools and None.

    What would not come back is refused with FileError: NaN, inf, and whole numbers beyond 2^53 - 1, also when they
    are held as floats that are written without an exponent.
    """
    _check_numbers(value)
    return _written(value)


def _written(value: Any) -> bytes:
    import rfc8785

    try:
        return rfc8785.dumps(value)
    except (ValueError, RecursionError) as error:
        raise FileError(f"cannot be written as JSON ({error})", "Use texts, finite numbers and few levels.") from error


def decode(content: bytes, place: str) -> Any:
    """Return the value of one line of canonical JSON, its LF left off; FileError names `place` when it is not."""
    import msgspec

    try:
        value = msgspec.json.decode(content)
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError) as error:
        raise FileError(f"{place}: not JSON ({error})", HINT) from error
    again = written_fast(value) if b"\\" not in content else None
    try:
        again = again or _written(value)  # a number that does not come back is not written as it was read
    except FileError as error:
        raise FileError(f"{place}: {error}", HINT) from error
    if again != content:
        at = next((i for i, (a, b) in enumerate(zip(again, content, strict=False)) if a != b), len(again))
        raise FileError(f"{place}, byte {at + 1}: not the JSON that RFC 8785 writes for this value", HINT)
    return value


# Where another fast writer may write otherwise than RFC 8785: a number with an exponent, below 1e-6, with nothing but a
# 0 behind its point, or so long that it may be no whole number any more. The bytes are searched with digits read as 0
# or 1 and all that ends a number as a comma; then with every digit and sign read as 1.
_NUMBERS = bytes.maketrans(b"23456789]}", b"11111111,,")
_MAY_DIFFER = (b"0.000000", b".0,")  # no whole number has a sign before its 0: such a one is read as 0
_DIGITS = bytes.maketrans(b"023456789-+E", b"11111111111e")
_LONGEST_NUMBER = 40
_EXPONENT, _LONG, _LONG_WHOLE = b"1e1", b"1" * 16, rb"(?<![0-9.])[0-9]{16}"
_SORTED_OTHERWISE = bytes(range(0xEE, 0x100))  # in UTF-8, characters that UTF-16 may sort before others: from U+E000 on
_DIGEST = re.compile(rb"sha256:[0-9a-f]{64}")


def written_fast(value: Any) -> bytes | None:
    """Return what RFC 8785 surely writes for a value decoded from JSON without escapes, None = ask the library.

    A writer thirty times as fast writes it. Both write the shortest digits that come back and sort keys; it is believed
    only where nothing stands in its bytes that the two may write in two ways.
    """
    import msgspec

    content = msgspec.json.encode(value, order="sorted")
    if b"\\" in content:
        return None
    if not content.isascii() and len(content.translate(None, _SORTED_OTHERWISE)) != len(content):
        return None
    numbers = content.translate(_NUMBERS)
    if any(text in numbers for text in _MAY_DIFFER) or numbers.endswith(b".0"):
        return None
    text = _DIGEST.sub(b"", content)
    digits = text.translate(_DIGITS)
    if _has_exponent(text, digits) or (_LONG in digits and re.search(_LONG_WHOLE, content) is not None):
        return None
    return content


def _has_exponent(content: bytes, digits: bytes) -> bool:
    """Whether a number has an exponent; what looks like one within a name, "cat5e-utp", begins with no number."""
    at = digits.find(_EXPONENT)
    while at >= 0:
        before = content[max(0, at - _LONGEST_NUMBER) : at + 1].rstrip(b"0123456789.-")
        if not before or before[-1] in b":,[":
            return True
        at = digits.find(_EXPONENT, at + 1)
    return False


def _check_numbers(value: object) -> None:
    """Refuse a float that is written as a whole number beyond 2^53: it would be read back as another kind of number."""
    waiting = [value]
    while waiting:
        item = waiting.pop()
        if isinstance(item, float) and LARGEST_WHOLE < abs(item) < WRITTEN_WITH_EXPONENT:
            raise FileError(f"the number {item!r} is beyond 2^53", "Use a larger unit.")
        if isinstance(item, dict):
            waiting.extend(item.values())
        elif isinstance(item, list | tuple):
            waiting.extend(item)
