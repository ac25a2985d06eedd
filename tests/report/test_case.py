"""What is shown of each contact: what was read off it goes before what is usual, and a bound stays one."""

import pytest
from msgspec.structs import replace

from tests.judge.plugs.as_built_trials import T568A
from tests.report.proofs import case
from tests.strategies import cable, joined, plugs, reading_of
from wiremap.cable.patterns import pattern
from wiremap.judge.case import Case, judge_case, requirements
from wiremap.judge.findings import Finding
from wiremap.judge.remedy.knowledge import Statements
from wiremap.report.wire_rows import colour_heading, wire_rows

REVERSED = {1: 1, 2: 2, 3: 6, 4: 4, 5: 5, 6: 3, 7: 7, 8: 8}


def seen(near_colours: str, expect: str = "straight", colours: str | None = None) -> Case:
    """Return the case of a cable with the pair 3-6 reversed, colours read off its near plug."""
    straight = pattern("straight")
    nets = joined(cable(straight, REVERSED, True))
    wanted = requirements(expect, colours=colours, statements=Statements(near_colours))
    return judge_case(reading_of(nets, plugs(straight)), wanted)


def colours_of(case: Case) -> dict[str, str]:
    """Return near contact -> the colour that its row says."""
    return {row.near: row.said for row in wire_rows(case) if row.near is not None and row.near != "S"}


def test_a_colour_that_was_read_stands_in_its_row() -> None:
    """Colours of a T568A plug are shown as read, and the rest once they settle the order."""
    usual = colours_of(seen("1=white-orange"))
    assert usual["3"] == "white-green"
    read = seen("1=white-green,3=white-orange")
    assert colour_heading(read) == "colour, as read"
    assert colours_of(read) == dict(zip("12345678", T568A, strict=True))
    partly = seen("4=white-blue")
    assert colours_of(partly)["4"] == "white-blue"
    assert "blue" not in colours_of(partly).values()


def test_the_usual_order_is_one_of_the_colours_that_were_told() -> None:
    """A two-pair cable of industrial colours is not refused, and has its own usual order."""
    case = seen("", "straight-2pair", "iec61918")
    assert case.order is not None
    assert case.order.name == "industrial-2pair"
    case = seen("", "straight-2pair")
    assert case.order is not None
    assert case.order.name == "T568B-2pair"


@pytest.mark.parametrize(("value", "low", "said"), [(-4.0, 4.0, "4 V or more, not"), (-48.0, None, "-48 V, not")])
def test_a_voltage_beyond_what_the_board_shows_is_that_or_more(value: float, low: float | None, said: str) -> None:
    """The line of the contact bounds a voltage as the sentence above it does."""
    shown = case(range(8))
    finding = Finding("foreign-voltage", ("4",), (), value=value, unit="V", low=low)
    rows = wire_rows(replace(shown, diagnosis=replace(shown.diagnosis, findings=(finding,))))
    assert [row.notes for row in rows if row.near == "4"] == [(f"{said} from the tester",)]
