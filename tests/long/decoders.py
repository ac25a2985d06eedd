"""Bytes for every decoder, hurt in every way; a million each where the time allows, and how many a second."""

from tests.decoders.counts import decoders_refuse_or_read
from tests.long import Check

LIMIT_S = 400.0  # of all decoders together


def hurt_bytes(seed: int, count: int) -> str:
    """Give every decoder so many hurt bytes, or as many as the time allows."""
    return decoders_refuse_or_read(seed, count, LIMIT_S)


CHECKS = (Check("decoders: hurt bytes", hurt_bytes, 1_000_000),)
