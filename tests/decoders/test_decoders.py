"""Hurt bytes for every decoder, a few; `python -m tests.long decoders` gives them many."""

from tests.decoders.counts import decoders_refuse_or_read


def test_hurt_bytes_are_refused_with_a_hint_or_read() -> None:
    """Captures, readings, tables, ledgers, keys, states, certificates, photos, wishes, files of one's own, lines."""
    said = decoders_refuse_or_read(seed=7, count=60)
    assert said.count(" 60 (") == 29
