"""What leaves the program: bells, exit codes of many, JSON without NaN."""

import pytest

from wiremap.cli import output
from wiremap.judge.findings import Verdict


@pytest.mark.parametrize(("verdict", "times"), [("pass", 1), ("undecided", 2), ("fail", 3)])
def test_the_bell_tells_the_verdict(
    verdict: Verdict, times: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pass rings once, undecided twice, a fail three times, on stderr."""
    monkeypatch.setattr(output, "BETWEEN_BELLS_S", 0.0)
    output.ring(verdict)
    out, err = capsys.readouterr()
    assert (out, err) == ("", "\a" * times)


@pytest.mark.parametrize(
    ("codes", "code"),
    [(set(), 0), ({0}, 0), ({0, 4}, 4), ({0, 4, 3}, 3), ({0, 3, 6}, 6), ({4, 6}, 6)],
)
def test_exit_code_of_many(codes: set[int], code: int) -> None:
    """Of many: unreadable before fail before undecided before pass."""
    assert output.exit_code_of_many(codes) == code


def test_json_has_no_nan(capsys: pytest.CaptureFixture[str]) -> None:
    """A number that JSON does not have is a crash, not a line that no reader takes."""
    with pytest.raises(ValueError, match="JSON"):
        output.write_json({"length_m": float("nan")})
    assert capsys.readouterr().out == ""
