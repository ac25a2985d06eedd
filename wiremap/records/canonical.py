"""Values to bytes and back in one way only: JSON as RFC 8785 writes it.

Reading demands that the bytes are exactly those that writing the decoded value gives. So duplicate keys, other
spellings of a number, spare blanks and text after the value all show.
"""

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
    try:
        again = _written(value)  # a number that does not come back is not written as it was read
    except FileError as error:
        raise FileError(f"{place}: {error}", HINT) from error
    if again != content:
        at = next((i for i, (a, b) in enumerate(zip(again, content, strict=False)) if a != b), len(again))
        raise FileError(f"{place}, byte {at + 1}: not the JSON that RFC 8785 writes for this value", HINT)
    return value


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
