"""Whole lots at full count."""

from tests.bench.checks import killed_lot_loses_nothing, lot_loses_nothing
from tests.long import Check

CHECKS = (
    Check("bench: lots of 500 cables lose nothing", lot_loses_nothing, 500, least=100),
    Check("bench: a lot of 500 cables killed 200 times loses nothing", killed_lot_loses_nothing, 200),
)
