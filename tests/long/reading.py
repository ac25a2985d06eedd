"""Tables at full count: every dialect with random cables, and tables that were changed."""

from tests.long import Check
from tests.reading.dialects import changed_tables, every_dialect

CHECKS = (
    Check("reading: 61 dialects", every_dialect, 1220, least=61),
    Check("reading: changed tables", changed_tables, 10_000),
)
