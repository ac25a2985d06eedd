"""Hurt bytes for every decoder, a few; `python -m tests.long decoders` gives them many."""

import random
from pathlib import Path

import pytest

from tests.decoders.counts import decoders_are_searched, decoders_refuse_or_read
from tests.decoders.guided import guided
from wiremap.errors import FileError


def test_hurt_bytes_are_refused_with_a_hint_or_read() -> None:
    """Captures, readings, tables, ledgers, keys, states, certificates, photos, wishes, files of one's own, lines."""
    said = decoders_refuse_or_read(seed=7, count=60, least=60)
    assert said.count(" 60 (") == 31


def test_hurt_bytes_look_for_their_way() -> None:
    """Every decoder is searched, and some bytes lead on in most of them."""
    said = decoders_are_searched(seed=7, count=10, least=10)
    assert said.count(" 10 (") == 31
    assert said.count(", 0 led on") < 16


def _hidden(found: bytes) -> None:
    """Read bytes that are refused one after the other: only who goes on from the one before gets to the end."""
    if found[:1] != b"<":
        raise FileError("no <", "Begin with <.")
    if found[1:2] != b"#":
        raise FileError("no #", "Go on with #.")
    if found[2:3] != b"\x00":
        raise FileError("no 0", "Go on with a 0.")
    raise ZeroDivisionError


def test_the_search_finds_what_chance_does_not() -> None:
    """Behind three bytes that each must be right who goes on from what reached more arrives; chance alone does not."""
    here = str(Path(__file__))
    with pytest.raises(AssertionError, match="ZeroDivisionError"):
        guided((b"abc",), _hidden, random.Random(1), 60_000, here)
    assert guided((b"abc",), _hidden, random.Random(1), 60_000, "/nowhere") == (0, 0)
