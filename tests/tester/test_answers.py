import zlib
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.tester.frames import damaged_answers_are_refused
from tests.tester.peers import frame
from wiremap.tester import answers
from wiremap.tester.answers import Answer, FrameError

exact = settings(deadline=None, derandomize=True, database=None)
tags = st.integers(1, answers.LARGEST_TAG)
words = st.sampled_from(answers.STATUSES)
values = st.one_of(st.integers(0, 10**12), st.just("9.9E37"), st.just("9.91E37"))
fields = st.lists(st.text(st.characters(min_codepoint=33, max_codepoint=126, exclude_characters=",#"), min_size=1))


def read(*parts: object, tag: int = 5, status: str = "OK") -> Answer:
    """Return the answer that these fields make."""
    return answers.decode_answer(frame(tag, status, *parts).rstrip(b"\n"))


def meaning(value: object) -> object:
    """Say what a value on the line means."""
    return {"9.9E37": "open", "9.91E37": None}.get(str(value), value)


def test_check_value_is_the_published_one() -> None:
    """The check value is CRC-32/ISO-HDLC: 123456789 gives CBF43926 (Catalogue of parametrised CRC algorithms)."""
    assert zlib.crc32(b"123456789") == 0xCBF43926
    body = b"7,OK,123"
    assert answers.decode_answer(body + b",#H%08X" % zlib.crc32(body)).fields == ("123",)


@exact
@given(tags, words, fields, st.sampled_from([b"", b"\r"]))
def test_answers_come_back_whole(tag: int, status: str, parts: list[str], end: bytes) -> None:
    """Tag, status and fields of a sound answer come back as they were sent, with LF or CR LF."""
    line = frame(tag, status, *parts)[:-1] + end
    answer = answers.decode_answer(line)
    assert (answer.tag, answer.status, answer.fields, answer.raw) == (tag, status, tuple(parts), line)


@exact
@given(st.data(), tags, words, fields)
def test_any_single_corrupted_byte_is_refused(data: st.DataObject, tag: int, status: str, parts: list[str]) -> None:
    """One changed byte anywhere in an answer is refused, and the error keeps the bytes as they came."""
    line = frame(tag, status, *parts)[:-1]
    place = data.draw(st.integers(0, len(line) - 1))
    byte = data.draw(st.integers(0, 255).filter(lambda byte: byte != line[place]))
    damaged = line[:place] + bytes((byte,)) + line[place + 1 :]
    with pytest.raises(FrameError) as raised:
        answers.decode_answer(damaged)
    assert raised.value.raw == damaged


def test_every_byte_of_many_answers_is_guarded() -> None:
    """In random answers, each byte changed, each burst of up to four bytes and each cut is refused."""
    assert "all refused" in damaged_answers_are_refused(seed=1, count=20)


@exact
@given(st.binary(max_size=200))
def test_junk_is_refused_as_a_frame_error(junk: bytes) -> None:
    """Arbitrary bytes are no answer, no identification and no error report, and raise nothing but FrameError."""
    for read_line in (answers.decode_answer, answers.identification, answers.error_report):
        with suppress(FrameError):
            read_line(junk)


@exact
@given(st.integers(2, 20), st.data())
def test_triangles_keep_their_values(size: int, data: st.DataObject) -> None:
    """A scan comes back value by value; 9.9E37 is open and 9.91E37 not measured, which stay apart."""
    sent = data.draw(st.lists(values, min_size=size * (size - 1) // 2, max_size=size * (size - 1) // 2))
    assert answers.triangle(read(size, *sent)) == (size, tuple(map(meaning, sent)))


@pytest.mark.parametrize(
    "parts",
    [(), (3,), (3, 1, 2), (3, 1, 2, 3, 4), (3, 1, 2, "x"), (3, 1, 2, -1), (3, 1, 2, 1.5), (3, 1, 2, "+3"), (0,), (65,)],
)
def test_scans_with_a_wrong_count_or_value_are_refused(parts: tuple[object, ...]) -> None:
    """A scan with a value too few or too many, or with something that is no value, is refused."""
    with pytest.raises(FrameError, match="makes no sense"):
        answers.triangle(read(*parts))


def test_contacts_are_names_in_matrix_order() -> None:
    """A tester names the contacts of its near socket, then those of its far socket."""
    assert answers.contacts(read(2, 1, '"1"', '"S"', '"1"')) == (("1", "S"), ("1",))
    for wrong in [(2, 1, '"1"', '"1"', '"1"'), (2, 1, '"1"', '"S"'), (1, 0, "1"), (1, 0, '""'), (60, 5)]:
        with pytest.raises(FrameError):
            answers.contacts(read(*wrong))


def test_capacitance_answers_say_how_they_were_taken() -> None:
    """Pairs come as a triangle, single contacts as a row; above the range is not measured."""
    pair = answers.capacitances(read(3, 1, 8, 12000, 150, 48000, "9.9E37", "9.91E37"), "PAIR")
    assert pair == answers.Capacitances(3, True, 8, 12000, 150, (48000, None, None))
    single = answers.capacitances(read(3, 0, 1, "9.91E37", "9.91E37", 1, 2, 3), "SINGle")
    assert single == answers.Capacitances(3, False, 1, None, None, (1, 2, 3))
    with pytest.raises(FrameError):
        answers.capacitances(read(3, 0, 1, 0, 0, 1, 2), "SINGle")


def test_voltages_name_contact_and_kind() -> None:
    """A voltage names its contact (from 1 on the line, from 0 inside), its sign and its kind."""
    found = answers.voltages(read(2, 3, -480, "DC", 8, 700, "CELL", status="FOREIGN"))
    assert found == (answers.Voltage(2, -480, "DC"), answers.Voltage(7, 700, "CELL"))
    assert answers.voltages(read(0)) == ()
    for wrong in [(1, 0, 5, "DC"), (1, 3, 5, "AF"), (2, 3, 5, "DC"), (1, 3, 5, "DC", 4)]:
        with pytest.raises(FrameError):
            answers.voltages(read(*wrong))


def test_echoes_may_be_missing() -> None:
    """A repeat without an echo is None, never a number; dither is there for every repeat or for none."""
    assert answers.echo(read(8000, 120, 50, 1, 3, 12, "9.9E37", 13)).ticks == (12, None, 13)
    assert answers.echo(read(8000, 120, 50, -1, 2, 12, 13, 0, 4000)).dither_ps == (0, 4000)
    for wrong in [(8000, 120, 50, 2, 0), (0, 120, 50, 1, 0), (8000, 120, 50, 1, 2, 12), (8000, 0, 50, 1, 2, 1, 2, 3)]:
        with pytest.raises(FrameError):
            answers.echo(read(*wrong))


def test_traces_are_samples() -> None:
    """A trace is a start, a step and as many samples as it says."""
    assert answers.trace(read(-500, 250, 2, 10, -10)) == answers.TraceSamples(-500, 250, (10, -10))
    with pytest.raises(FrameError):
        answers.trace(read(0, 250, 3, 10, -10))


def test_events_are_numbered() -> None:
    """Events come in the order of their numbers; one that still lasts has no duration."""
    got = answers.latched_events(read(7, 2, 2, 6, 1, 10, "OPEN", 5000, 2100, 7, 1, 10, "JOIN", 7100, "9.91E37"))
    assert (got.newest, got.lost) == (7, 2)
    assert got.events[0] == answers.LatchedEvent(6, 0, 9, "OPEN", 5000, 2100)
    assert got.events[1].for_us is None
    for wrong in [(5, 0, 1, 6, 1, 10, "OPEN", 0, 1), (7, 0, 2, 6, 1, 2, "OPEN", 0, 1, 6, 1, 2, "JOIN", 0, 1)]:
        with pytest.raises(FrameError):
            answers.latched_events(read(*wrong))


def test_joined_rows_are_bitmaps() -> None:
    """The state a watch begins with is one bitmap a row, decimal or hexadecimal; bit j is contact j."""
    assert answers.joined_rows(read(2, 3, "#H3")) == ((True, True), (True, True))
    for wrong in [(2, 3, 4), (2, 3), (2, 3, "#Hx")]:
        with pytest.raises(FrameError):
            answers.joined_rows(read(*wrong))


def test_small_answers() -> None:
    """Words, milliohm on the line and ohms inside; a failed self-test is a mask, with contacts or without."""
    assert answers.features(read("RES", "LOW")) == ("RES", "LOW")
    assert answers.fineness(read(200)) == (0.2, None, None)
    assert answers.fineness(read(20, 500)) == (0.02, 0.5, None)
    assert answers.fineness(read(20, 500, 4000)) == (0.02, 0.5, 4000)
    for values in [(20, 0), (20, -1), (20, 500, 0), (20, 500, 4000, 1), (20, "9.91E37")]:
        with pytest.raises(FrameError):
            answers.fineness(read(*values))
    assert answers.failed_self_test(read(6, status="SELFTEST")) == (6, ())
    assert answers.failed_self_test(read(32, 3, 18, status="SELFTEST")) == (32, (2, 17))
    assert answers.error_report(b'-113,"Undefined header;MEAS:X?"') == (-113, "Undefined header;MEAS:X?")
    assert answers.identification(b"WIREMAP,BENCH-18,7,1.0\r") == ("WIREMAP", "BENCH-18", "7", "1.0")
    with pytest.raises(FrameError):
        answers.identification(frame(5, "OK", 200)[:-1])
    for wrong in [(answers.features, "res"), (answers.fineness, 0), (answers.failed_self_test, -1)]:
        with pytest.raises(FrameError):
            wrong[0](read(wrong[1]))


def test_a_scan_of_joined_and_open() -> None:
    """1 is joined, 0 open, 9.91E37 not measured; any other value, and a triangle that is none, are refused."""
    assert answers.joined_triangle(read(3, 1, 0, "9.91E37")) == (3, ("joined", "open", None))
    for wrong in [(3, 1, 0), (3, 1, 0, 1, 1), (3, 1, 0, 2), (3, 1, 0, 150), (3, 1, 0, "9.9E37"), (0,), (3, 1, 0, -1)]:
        with pytest.raises(FrameError):
            answers.joined_triangle(read(*wrong))


@exact
@given(tags, st.lists(st.integers(0, 999), max_size=4))
def test_questions_carry_their_own_check_value(tag: int, arguments: list[int]) -> None:
    """A tagged question ends in the CRC-32 of all before its last comma, so that one that arrived changed shows."""
    line = answers.tagged_question("MEASure:ECHO?", tag, *arguments)
    bare, _, check = line[:-1].rpartition(b",")
    assert bare == answers.question("MEASure:ECHO?", tag, *arguments)[:-1]
    assert check == b"#H%08X" % zlib.crc32(bare)


def test_questions_are_printable_ascii() -> None:
    """A question is one line of printable ASCII: the bytes that stop the firmware cannot be sent."""
    assert answers.question("MEASure:ECHO?", 7, 1, 2) == b"MEASure:ECHO? 7,1,2\n"
    for header in ("MEAS?\x03", "MEAS?\n*RST", "MEÄS?"):
        with pytest.raises(ValueError, match="printable ASCII"):
            answers.question(header)
