import pytest
from msgspec.structs import replace

from wiremap.errors import FileError
from wiremap.judge.measurements import Length
from wiremap.judge.run.length.specified import WantedLength, wanted_from_builtins, wrong_length

TWO_METRES = WantedLength(2.0, 0.1)


def length(length_m: float, u_m: float) -> Length:
    """Return a fused length with its 95 % interval."""
    return Length(None, "fused", length_m, u_m, length_m - 2 * u_m, length_m + 2 * u_m)


@pytest.mark.parametrize(
    ("length_m", "u_m", "says", "limit"),
    [
        (2.0, 0.06, None, None),
        (2.1, 0.06, None, None),
        (1.9, 0.06, None, None),
        (2.15, 0.06, "likely", 2.1),
        (2.3, 0.06, "confirmed", 2.1),
        (1.85, 0.06, "likely", 1.9),
        (1.5, 0.06, "confirmed", 1.9),
    ],
)
def test_a_length_outside_its_tolerance(length_m: float, u_m: float, says: str | None, limit: float | None) -> None:
    """A cable too long or too short is a fault; only likely one while its 95 % interval holds a length allowed."""
    found = wrong_length([replace(length(9.0, 0.1), pair=("1", "2")), length(length_m, u_m)], TWO_METRES)
    assert [(finding.fault, finding.certainty, finding.limit) for finding in found] == (
        [("too-long" if length_m > 2.0 else "too-short", says, limit)] if says else []
    )


def test_nothing_wanted_or_nothing_known() -> None:
    """Where no length was wanted, or none was measured, nothing is said of it."""
    assert wrong_length([length(5.0, 0.1)], None) == ()
    assert wrong_length([], TWO_METRES) == ()


def test_a_wanted_length_comes_back_from_a_capture() -> None:
    """What was wanted is kept in a capture's rules and read again; what is no length is refused."""
    assert wanted_from_builtins(TWO_METRES.to_builtins()) == TWO_METRES
    assert wanted_from_builtins(None) is None
    for wrong in ({"wanted_m": 2.0}, {"wanted_m": -1, "tolerance_m": 0}, {"wanted_m": True, "tolerance_m": 0}, 2.0):
        with pytest.raises(FileError, match="length"):
            wanted_from_builtins(wrong)
