"""What leaves the program: bells, exit codes of many, JSON without NaN."""

from typing import Literal

import pytest

from tests.cli.running import run
from wiremap.cli import output
from wiremap.judge.findings import Verdict
from wiremap.report.terminal.display import Terminal


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


@pytest.mark.parametrize("colours", [0, 256])
def test_only_colours_of_a_terminal_that_has_them_pass(colours: Literal[0, 256]) -> None:
    """Whatever a text from outside holds, a terminal gets letters, line ends and, where it has them, colours."""
    where = Terminal(80, 24, colours, False)
    mean = "a\x1b[H\x1b[2J\x1b]0;t\x07b\rc\x9b1m\u2028\ud800\x1b[1m"
    text = output.for_terminal(mean + "\n", where)
    assert text.endswith("\n")
    rest = text.replace("\x1b[1m", "") if colours else text
    assert rest[:-1].isprintable()
    assert r"a\x1b[H\x1b[2J\x1b]0;t\x07b\rc\x9b1m" in rest


def test_a_job_cannot_draw_on_the_terminal() -> None:
    """Names that the job gives stand on the page as text, whatever is in them."""
    ran = run(
        "test", "--tester", "sim:patch", "--expect", "straight", "--job", "near=helm\x1b[H PASS", "--job", "cable=x\ny"
    )
    assert ran.code == 0
    assert "\x1b" not in ran.out
    assert r"x\ny, straight" in ran.out
    assert r"helm\x1b[H PASS" in ran.out


@pytest.mark.parametrize("height", [None, 16])
def test_a_line_of_a_list_breaks_between_words(
    height: int | None, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A terminal gets a long line in lines it can hold, no word cut; a file or a pipe gets it as one line."""
    monkeypatch.setattr(output, "terminal", lambda: Terminal(40, height))
    text = "SOUND      captures/rack-01.json  not signed; in no lot; PASS again from the reading"
    output.write_line(text, 11)
    lines = capsys.readouterr().out.splitlines()
    assert " ".join(" ".join(lines).split()) == " ".join(text.split())
    if height is None:
        assert lines == [text]
    else:
        assert len(lines) > 1
        assert all(len(line) <= 40 for line in lines)
        assert all(line.startswith("  ") for line in lines[1:])
