"""What phones send, read strictly: a secret, or a wish."""

from typing import Annotated, Literal, TypeVar

import msgspec

from wiremap.bench.handset import Wish
from wiremap.errors import UsageError
from wiremap.phone.lot.keys import LotKey, LotWish

Id = Annotated[str, msgspec.Meta(pattern=r"^[A-Za-z0-9_-]{8,40}$")]
Number = Annotated[int, msgspec.Meta(ge=0, le=10**9)]
Word = Annotated[str, msgspec.Meta(max_length=80, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
LongWord = Annotated[str, msgspec.Meta(max_length=500, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
PhoneWords = Annotated[tuple[Word, ...], msgspec.Meta(max_length=3)]
Age = Annotated[float, msgspec.Meta(ge=0, le=1e6)]  # seconds
AskedFor = Literal["again", "keep", "label", "colour", "mend", "answer", "did", "not-moved", "tick", "undo", "leave"]
T = TypeVar("T", bound=msgspec.Struct)


class SentSecret(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What opens the door."""

    secret: Annotated[str, msgspec.Meta(pattern=r"^[A-Za-z0-9_-]{1,64}$")]


class SentWish(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A wish as it is sent. age: seconds since it was pressed, by the phone's own clock."""

    id: Id
    what: AskedFor
    test: Number
    words: PhoneWords = ()
    age: Age = 0.0


class SentLotWish(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is asked of a lot, as it is sent. words: what the button was meant for, and what was typed."""

    id: Id
    what: LotKey
    test: Literal[0] = 0
    words: Annotated[tuple[LongWord, ...], msgspec.Meta(max_length=2)] = ()
    age: Age = 0.0


class SentPhoto(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is said beside a photo, in the address: it comes as text."""

    id: Id
    test: Annotated[str, msgspec.Meta(pattern=r"^[0-9]{1,9}$")]


def secret_sent(body: bytes) -> str:
    """Return the secret in a body; UsageError where it is none."""
    return _read(body, SentSecret).secret


def wish_sent(body: bytes) -> Wish:
    """Return the wish in a body; UsageError where it is none."""
    sent = _read(body, SentWish)
    return Wish(sent.id, sent.what, sent.test, sent.words, sent.age)


def lot_wish_sent(body: bytes) -> LotWish:
    """Return the wish in a body; UsageError where it is none."""
    sent = _read(body, SentLotWish)
    seen, text = (*sent.words, "", "")[:2]
    return LotWish(sent.id, sent.what, seen, text, sent.age)


def photo_wish(said: dict[str, str]) -> Wish:
    """Return what a photo is about; UsageError where that is not said."""
    try:
        sent = msgspec.convert(said, SentPhoto)
    except ValueError as error:
        raise UsageError(f"the photo says of no test: {error}", "Load the page again.") from error
    return Wish(sent.id, "keep", int(sent.test))


def _read(body: bytes, kind: type[T]) -> T:
    try:
        return msgspec.json.decode(body, type=kind)
    except (ValueError, RecursionError) as error:
        raise UsageError(f"nonsense was sent: {error}", "Load the page again.") from error
