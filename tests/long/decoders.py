"""Bytes for every decoder, hurt in every way: a million where one takes microseconds, and searched for lines."""

from functools import partial

from tests.decoders.counts import decoders_are_searched, decoders_refuse_or_read
from tests.long import Check

CHECKS = (
    Check("decoders: hurt bytes", partial(decoders_refuse_or_read, least=1000), 1_000_000),
    Check("decoders: hurt bytes that look for their way", partial(decoders_are_searched, least=500), 60_000),
)
