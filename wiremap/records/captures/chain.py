"""The chain of a lot: each capture names the digest of the one before it, so a gap or another order shows.

What is cut off the end leaves no gap: it shows only against the lot's ledger, or a digest noted elsewhere.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from msgspec import Struct

ChainState = Literal[
    "single", "alone", "holds", "before-missing", "before-twice", "number-wrong", "not-signed", "out-of-order", "copy"
]
BREAKS: tuple[ChainState, ...] = ("before-missing", "before-twice", "number-wrong", "not-signed")


class ChainLink(Struct, frozen=True):
    """What the chain needs of a capture. lot, number: None where it belongs to none. is_signed: by whatever key."""

    source: str
    digest: str
    before: str | None
    lot: str | None
    number: int | None
    made_utc: str
    is_signed: bool = False


def chain(links: Sequence[ChainLink]) -> tuple[ChainState, ...]:
    """Return the state of each capture among those given, in their order.

    single: in no lot, nothing before it. alone: the only one of its lot that was given, and not the first.
    copy: the same record as an earlier file. before-missing: the one before it
    is not there. before-twice: another one names the same one before it. number-wrong: it does not follow the
    number, or the lot, of the one before it. not-signed: others of its lot are signed. out-of-order: by the clock it
    is older than the one before it; clocks are put back, so this is no break.
    """
    first: dict[str, ChainLink] = {}
    for link in links:
        first.setdefault(link.digest, link)
    followers: dict[str, int] = {}
    for link in first.values():
        if link.before is not None:
            followers[link.before] = followers.get(link.before, 0) + 1
    starts = _count(link.lot for link in first.values() if link.before is None)
    sizes = _count(link.lot for link in first.values())
    signed = {link.lot for link in first.values() if link.is_signed and link.lot is not None}
    states = (_state(link, first, followers, starts, sizes) for link in links)
    return tuple(
        "not-signed"
        if state in ("holds", "alone", "out-of-order") and link.lot in signed and not link.is_signed
        else state
        for link, state in zip(links, states, strict=True)
    )


def _count(names: Iterable[str | None]) -> dict[str | None, int]:
    counts: dict[str | None, int] = {}
    for name in names:
        counts[name] = counts.get(name, 0) + 1
    return counts


def _state(
    link: ChainLink,
    first: Mapping[str, ChainLink],
    followers: Mapping[str, int],
    starts: Mapping[str | None, int],
    sizes: Mapping[str | None, int],
) -> ChainState:
    if first[link.digest] is not link:
        return "copy"
    if link.before is None:
        if link.lot is None:
            return "holds" if followers.get(link.digest) else "single"
        if starts[link.lot] > 1:
            return "before-twice"
        return "holds" if link.number == 1 else "number-wrong"
    before = first.get(link.before)
    if before is None:
        return "alone" if sizes[link.lot] == 1 else "before-missing"
    if followers[link.before] > 1:
        return "before-twice"
    if link.lot != before.lot or (link.number is not None and link.number != (before.number or 0) + 1):
        return "number-wrong"
    return "out-of-order" if link.made_utc < before.made_utc else "holds"
