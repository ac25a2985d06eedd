import time

import pytest

from tests.tester.floods import endless_line_is_given_up
from tests.tester.peers import HANG_UP, Dialogue, frame, on_pty, on_tcp, sound
from wiremap.errors import TesterError
from wiremap.tester import answers, line
from wiremap.tester.answers import Answer, FrameError
from wiremap.tester.line import open_line

PATIENT_S = 30.0
SHORT_S = 0.2


@pytest.fixture(autouse=True)
def _short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(line, "STALL_S", SHORT_S)
    monkeypatch.setattr(line, "QUIET_S", 0.02)
    monkeypatch.setattr(line, "PLAIN_S", SHORT_S)


def fields(answer: Answer) -> tuple[str, ...]:
    """Return the fields as they are."""
    return answer.fields


def asked(dialogue: Dialogue, timeout_s: float = PATIENT_S) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Ask one query of a peer with this dialogue; return the answer's fields and what else was said."""
    with on_pty(dialogue) as address, open_line(address, first_tag=41) as opened:
        return opened.ask("MEASure:X?", parse=fields, timeout_s=timeout_s), opened.said


def failure(dialogue: Dialogue, timeout_s: float = PATIENT_S) -> TesterError:
    """Ask one query and return the error that comes of it."""
    with on_pty(dialogue) as address, open_line(address, first_tag=41) as opened:
        with pytest.raises(TesterError) as raised:
            opened.ask("MEASure:X?", parse=fields, timeout_s=timeout_s)
        assert raised.value.hint
        return raised.value


@pytest.mark.parametrize("kind", [on_pty, on_tcp])
def test_questions_and_answers_on_both_kinds_of_line(kind: object) -> None:
    """A question goes out with its tag and its answer comes back, on a pseudo-terminal and over TCP."""
    assert kind in (on_pty, on_tcp)
    play = on_pty if kind is on_pty else on_tcp
    dialogue: Dialogue = [("SYSTem:ERRor?", b'0,"No error"\n'), ("MEASure:X? {tag},1,2", sound("OK", 5))]
    with play(dialogue) as address, open_line(address) as opened:
        assert opened.ask_plain("SYSTem:ERRor?", answers.error_report, PATIENT_S) == (0, "No error")
        assert opened.ask("MEASure:X?", 1, 2, parse=fields, timeout_s=PATIENT_S) == ("5",)


def test_a_long_answer_is_read_whole() -> None:
    """An answer of many reads (500 000 bytes) arrives whole."""
    with on_tcp([("MEASure:X? {tag}", sound("OK", *range(100_000)))]) as address, open_line(address) as opened:
        assert opened.ask("MEASure:X?", parse=fields, timeout_s=PATIENT_S) == tuple(map(str, range(100_000)))


def test_stale_answers_are_passed_over() -> None:
    """Answers to an earlier session, sound as they are, are told by their tag and discarded."""
    stale = frame(40, "OK", 1) + frame(7, "OK", 2)
    assert asked([("MEASure:X? 41", stale + frame(41, "OK", 3))]) == (("3",), ())


def test_a_damaged_answer_is_asked_once_more() -> None:
    """After a wrong check value the question goes out again under a new tag, and the good answer counts."""
    damaged = frame(41, "OK", 3).replace(b"OK,3", b"OK,4")
    assert asked([("MEASure:X? 41", damaged), ("MEASure:X? 42", sound("OK", 3))])[0] == ("3",)


def test_an_answer_torn_by_a_false_line_end_is_asked_once_more() -> None:
    """A byte that turned into a line end makes two damaged lines, and still costs one question only."""
    whole = frame(41, "OK", *range(50))
    torn = whole[:30] + b"\n" + whole[31:]
    assert asked([("MEASure:X? 41", torn), ("MEASure:X? 42", sound("OK", 3))])[0] == ("3",)


def test_an_answer_with_a_wrong_count_is_asked_once_more() -> None:
    """A sound frame with a value missing is as good as damaged."""
    with (
        on_pty([("MEASure:X? 41", sound("OK", 3, 1, 2)), ("MEASure:X? 42", sound("OK", 3, 1, 2, 3))]) as address,
        open_line(address, first_tag=41) as opened,
    ):
        assert opened.ask("MEASure:X?", parse=answers.triangle, timeout_s=PATIENT_S) == (3, (1, 2, 3))


def test_two_damaged_answers_are_an_error() -> None:
    """A second damaged answer is not asked again: the error says so, carries the bytes, and hints at the cable."""
    bad = frame(41, "OK", 3).replace(b"OK,3", b"OK,4")
    error = failure([("MEASure:X? 41", bad), ("MEASure:X? 42", bad)])
    assert "wrong check value" in error.what
    assert "OK,4" in error.what
    assert "plug" in error.hint


def test_half_an_answer_is_asked_once_more() -> None:
    """An answer that stops in the middle is given up after a stall, not after the whole time-out, and asked again."""
    began = time.monotonic()
    half = frame(41, "OK", 3, 4)[:8]
    assert asked([("MEASure:X? 41", half), ("MEASure:X? 42", sound("OK", 3))])[0] == ("3",)
    assert time.monotonic() - began < PATIENT_S


def test_half_an_answer_twice_is_an_error() -> None:
    """A tester that answers half, twice, is an error that says how far it came."""
    half = frame(41, "OK", 3, 4)[:8]
    error = failure([("MEASure:X? 41", half), ("MEASure:X? 42", half)])
    assert "stopped in the middle of an answer, after 8 bytes" in error.what


def test_silence_is_an_error_with_a_hint() -> None:
    """A tester that does not answer in time is an error, after its error queue was asked in vain."""
    error = failure([("MEASure:X? 41", b""), ("SYSTem:ERRor?", b"")], timeout_s=SHORT_S)
    assert "no answer to 'MEASure:X?' within 0.2 s" in error.what
    assert "unplug it" in error.hint


def test_a_slow_answer_is_an_error_and_never_the_next_one() -> None:
    """An answer that comes after its time is passed over when the next question is asked."""
    dialogue: Dialogue = [
        ("MEASure:X? 41", b""),
        ("SYSTem:ERRor?", b""),
        ("MEASure:Y? 42", lambda tag: frame(41, "OK", 1) + frame(tag, "OK", 2)),
    ]
    with on_pty(dialogue) as address, open_line(address, first_tag=41) as opened:
        with pytest.raises(TesterError, match="no answer"):
            opened.ask("MEASure:X?", parse=fields, timeout_s=SHORT_S)
        assert opened.ask("MEASure:Y?", parse=fields, timeout_s=PATIENT_S) == ("2",)


def test_a_question_that_arrived_damaged_is_asked_once_more() -> None:
    """When the tester reports that it did not understand, the question goes out once more."""
    undefined = b'-113,"Undefined header;MEASvre:X?"\n'
    dialogue: Dialogue = [
        ("MEASure:X? 41", b""),
        ("SYSTem:ERRor?", undefined),
        ("MEASure:X? 42", sound("OK", 3)),
    ]
    assert asked(dialogue, timeout_s=SHORT_S)[0] == ("3",)


def test_a_question_the_tester_does_not_know_is_an_error() -> None:
    """A header the firmware does not know is an error with the firmware's own words."""
    undefined = b'-113,"Undefined header;MEASure:X?"\n'
    dialogue: Dialogue = [
        ("MEASure:X? 41", b""),
        ("SYSTem:ERRor?", undefined),
        ("MEASure:X? 42", b""),
        ("SYSTem:ERRor?", undefined),
    ]
    error = failure(dialogue, timeout_s=SHORT_S)
    assert "error -113, Undefined header;MEASure:X?" in error.what
    assert "up to date" in error.hint


def test_a_traceback_is_shown() -> None:
    """What the firmware prints instead of an answer stands in the error, line by line."""
    traceback = b'Traceback (most recent call last):\n  File "scan.py", line 7, in scan\nOSError: 5\n'
    dialogue: Dialogue = [("MEASure:X? 41", traceback), ("SYSTem:ERRor?", b"")]
    error = failure(dialogue, timeout_s=SHORT_S)
    assert 'the tester said:\n  Traceback (most recent call last):\n    File "scan.py", line 7' in error.what
    assert error.what.endswith("OSError: 5")


def test_a_traceback_glued_to_an_answer_is_kept() -> None:
    """A traceback glued to the data spoils that answer and is kept; the question is asked again."""
    glued = b"41,OK,18,5Traceback (most recent call last):\nValueError: 3\n"
    got, said = asked([("MEASure:X? 41", glued), ("MEASure:X? 42", sound("OK", 3))])
    assert got == ("3",)
    assert said == ("41,OK,18,5Traceback (most recent call last):", "ValueError: 3")


def test_talk_before_an_answer_does_no_harm() -> None:
    """Lines that are no answers, binary junk among them, are kept as talk, printable, and passed over."""
    got, said = asked([("MEASure:X? 41", b"\xff\x1b[2Jhello\r\n\r\n" + frame(41, "OK", 3))])
    assert got == ("3",)
    assert said == ("\\xff\\x1b[2Jhello",)


@pytest.mark.parametrize("cut", [0, 9])
def test_a_tester_that_dies_is_an_error_at_once(cut: int) -> None:
    """A tester that goes away, in mid-answer or before, is an error at once and nothing is made of the half."""
    error = failure([("MEASure:X? 41", frame(41, "OK", 3, 4, 5)[:cut] + HANG_UP)])
    assert "the line to the tester broke" in error.what
    assert "plug it in again" in error.hint


def test_a_tester_that_dies_over_tcp_is_an_error_at_once() -> None:
    """The same over TCP, where the other end just closes."""
    with (
        on_tcp([("MEASure:X? 41", frame(41, "OK", 3)[:5] + HANG_UP)]) as address,
        open_line(address, first_tag=41) as opened,
        pytest.raises(TesterError, match="the line to the tester broke"),
    ):
        opened.ask("MEASure:X?", parse=fields, timeout_s=PATIENT_S)


def test_a_line_without_end_is_given_up_early() -> None:
    """A line of 3 GB is given up after a megabyte, whatever is still to come, and memory stays bounded."""
    assert "given up" in endless_line_is_given_up(1, 3_000_000_000)


def test_tags_differ_between_sessions() -> None:
    """Two sessions on one line begin at different tags, since answers to the first may reach the second."""
    with on_pty([]) as address:
        starts = set()
        for _ in range(5):
            with open_line(address) as opened:
                starts.add(opened._tag)
    assert len(starts) > 1
    assert all(1 <= tag <= answers.LARGEST_TAG for tag in starts)


def test_tags_wrap() -> None:
    """After the largest tag comes 1."""
    last = answers.LARGEST_TAG
    dialogue: Dialogue = [(f"MEASure:X? {last}", sound("OK")), ("MEASure:X? 1", sound("OK", 2))]
    with on_pty(dialogue) as address, open_line(address, first_tag=last) as opened:
        assert opened.ask("MEASure:X?", parse=fields, timeout_s=PATIENT_S) == ()
        assert opened.ask("MEASure:X?", parse=fields, timeout_s=PATIENT_S) == ("2",)


def test_a_frame_error_is_a_tester_error() -> None:
    """Whoever handles tester errors handles damaged answers too."""
    assert issubclass(FrameError, TesterError)
