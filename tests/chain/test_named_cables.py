"""Named cables over the line: paper, screen and what is said, the far plug in the tester and in one thing more."""

import pytest

from tests.chain.shown_cables import shown_well
from tests.named_cables import NAMES, some_fars


@pytest.mark.parametrize("name", NAMES)
def test_each_named_cable_is_shown_well(name: str) -> None:
    """On paper, on a first screen, in four lines of services, and where the far plug was not seen."""
    assert shown_well(name, some_fars(name)) >= 1
