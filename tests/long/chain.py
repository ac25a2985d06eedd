"""The whole chain, from the cable's description over the line to the Reading."""

import tempfile
from pathlib import Path

from tests.chain.bare_cables import (
    NAMED,
    bare_cables_are_read_rightly,
    bare_cables_over_a_bad_line,
    named_cables_by_bare_boards,
)
from tests.chain.intermittents import never_said_of_the_run
from tests.chain.random_networks import check
from tests.chain.shown_cables import all_shown_well
from tests.long import Check
from tests.named_cables import NAMES


def _networks(seed: int, count: int) -> str:
    with tempfile.TemporaryDirectory() as folder:
        return check(seed, count, lambda: Path(folder))


CHECKS = (
    Check("chain: random resistor networks over the line", _networks, 150, seed=11),
    Check("chain: random cables by bare boards", bare_cables_are_read_rightly, 200),
    Check("chain: random cables by bare boards over a bad line", bare_cables_over_a_bad_line, 100),
    Check("chain: contacts that open during a test", never_said_of_the_run, 200),
    Check("chain: named cables by bare boards", named_cables_by_bare_boards, len(NAMED)),
    Check("chain: named cables, their far plugs in anything", all_shown_well, len(NAMES)),
)
