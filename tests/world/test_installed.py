"""Cables of installations in a guided repair: with joints, behind leads, in bad sockets, with crimps that come and go.

At full count in `python -m tests.long mend`.
"""

import pytest

from tests.long.mending import Installed, installed_many


@pytest.fixture(scope="module")
def met() -> Installed:
    """Return what is counted of 70 cables where one answer in ten is wrong or not known."""
    return installed_many(21, range(70), 0.05, 0.05)


def test_no_cable_passes_that_is_not_right(met: Installed) -> None:
    """Neither one that comes and goes, nor one that was tested through a bad lead, nor in a bad socket."""
    assert not met.counts.false_pass, met.counts.failures()
    assert not met.counts.wrong_endings, met.counts.failures()
    assert not met.counts.twice, met.counts.failures()


def test_what_comes_and_goes_is_mended_and_what_the_lead_or_the_tester_has_is_told(met: Installed) -> None:
    """Shaky crimps and bad leads end in a pass, a bad socket of the tester in "socket"; none of these is replaced."""
    endings = {what: {ending for (one, ending) in met.endings if one == what} for what in ("shaky", "lead", "socket")}
    assert endings == {"shaky": {"passed"}, "lead": {"passed"}, "socket": {"socket"}}


def test_joints_are_opened_before_a_plug_is_cut_and_narrow_it_down(met: Installed) -> None:
    """Faults of runs with joints are told as of a piece, where what is measured does not already say where they are."""
    assert met.halves > 10
    assert met.endings["run", "piece"] >= 3
    assert met.cut_first == 0
