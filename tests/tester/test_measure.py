"""The dialogue with a tester, from its identification to a Reading; with what becomes of one that is silent or dies."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from serial.tools import list_ports

import firmware_sim
from tests.tester.peers import HANG_UP, Dialogue, Reply, frame, introduction, on_pty, sound, triangle
from wiremap.cable.patterns import Pattern, pattern
from wiremap.calibration import Calibration
from wiremap.contact import far_contact, near_contact
from wiremap.errors import TesterError, UsageError
from wiremap.reading.parts import Capacitance, Echo, ForeignVoltage, Tester, Trace
from wiremap.reading.reading import Far, Reading
from wiremap.tester import line, measure
from wiremap.tester.measure import open_tester

PAIR = (near_contact("1"), near_contact("2"))
NOON = "2026-03-01T12:00:00Z"
RESISTANCE = "MEASure:ARRay:RESistance? {tag}"
CONTINUITY = "MEASure:ARRay:CONTinuity? {tag}"
LOW = "MEASure:ARRay:RESistance:LOW? {tag}"
CAPACITANCE = "MEASure:ARRay:CAPacitance? {tag}"


@pytest.fixture(autouse=True)
def _short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(line, "STALL_S", 0.2)
    monkeypatch.setattr(line, "QUIET_S", 0.02)
    monkeypatch.setattr(line, "PLAIN_S", 0.2)


def taken(
    dialogue: Dialogue,
    far: Far = "tester",
    near_adapter: Pattern | None = None,
    far_adapter: Pattern | None = None,
    pairs: tuple[tuple[str, str], ...] = (),
    calibration: Calibration | None = None,
) -> Reading:
    """Measure once with a peer that follows this dialogue."""
    with on_pty(dialogue) as address, open_tester(address) as tester:
        return measure.measure(
            tester,
            far,
            near_adapter=near_adapter,
            far_adapter=far_adapter,
            near_pairs=pairs,
            far_pairs=(),
            calibration=calibration,
            taken_utc=NOON,
        )


def failure(dialogue: Dialogue) -> TesterError:
    """Measure once and return the error that comes of it."""
    with on_pty(dialogue) as address, pytest.raises(TesterError) as raised, open_tester(address) as tester:
        measure.measure(tester, near_pairs=(), far_pairs=())
    assert raised.value.hint
    return raised.value


def wide_introduction(features: tuple[str, ...] = ("RES",)) -> list[tuple[str, Reply]]:
    """Return the introduction of the reference board: two sockets of eight contacts and the screen's."""
    socket = [f'"{k}"' for k in (1, 2, 3, 4, 5, 6, 7, 8, "S")]
    return [
        ("*IDN?", b"WIREMAP,BENCH-18,7,1.0.0\n"),
        ("TESTer:FEATures? {tag}", sound("OK", *features)),
        ("TESTer:CONTacts? {tag}", sound("OK", 9, 9, *socket, *socket)),
        ("TESTer:RESolution? {tag}", sound("OK", 200)),
    ]


def test_a_cable_of_two_conductors() -> None:
    """Ohms come from milliohms; open, joined with its ohms, and not measured stay apart."""
    values = triangle({(0, 2): 150, (1, 3): 12_345, (0, 1): "9.91E37"}, 4)
    reading = taken([*introduction(), (RESISTANCE, sound("OK", 4, *values))])
    assert reading.tester == Tester("WIREMAP", "BENCH-18", "7", "1.0.0", ("RES",), 0.2)
    assert reading.contacts == (*PAIR, far_contact("1"), far_contact("2"))
    assert reading.resistance_ohm == (
        (0.0, None, 0.15, "open"),
        (None, 0.0, "open", 12.345),
        (0.15, "open", 0.0, "open"),
        ("open", 12.345, "open", 0.0),
    )
    assert (reading.taken_utc, reading.far, reading.low_level_ohm, reading.capacitance) == (NOON, "tester", None, None)


def test_everything_a_tester_offers_is_asked_for() -> None:
    """Low level, capacitance in three forms, echo and trace are asked for as the features say, and end up in place."""
    opens = triangle({}, 4)
    dialogue: Dialogue = [
        *introduction(("RES", "LOW", "CAP", "GROUP", "ECHO", "TRACE")),
        (RESISTANCE, sound("OK", 4, *opens)),
        (LOW, sound("OK", 4, *triangle({(0, 2): 180}, 4, "9.91E37"))),
        (CAPACITANCE + ",PAIR,8", sound("OK", 4, 1, 8, 10_000, 300, *triangle({(0, 1): 48_500}, 4, 0))),
        (CAPACITANCE + ",SINGle,8", sound("OK", 4, 1, 8, 10_000, 300, 60_000, 61_000, 62_000, "9.9E37")),
        (CAPACITANCE + ",DOUBle,8", sound("OK", 4, 1, 8, 10_000, 300, *triangle({(0, 1): 70_000}, 4, 0))),
        ("MEASure:ECHO? {tag},1,2,50,64", sound("OK", 8000, 120, 50, 1, 2, 12, "9.9E37", 0, 4000)),
        ("MEASure:TRACe? {tag},1,2", sound("OK", -500, 250, 2, 10, -10)),
    ]
    reading = taken(dialogue, pairs=(("1", "2"), ("3", "4")))
    assert reading.low_level_ohm is not None
    assert reading.low_level_ohm[0] == (0.0, None, 0.18, None)
    assert reading.capacitance == Capacitance(
        two_terminal_pf=(
            (None, 48.5, 0.0, 0.0),
            (48.5, None, 0.0, 0.0),
            (0.0, 0.0, None, 0.0),
            (0.0, 0.0, 0.0, None),
        ),
        single_pf=(60.0, 61.0, 62.0, None),
        double_pf=((None, 70.0, 0.0, 0.0), (70.0, None, 0.0, 0.0), (0.0, 0.0, None, 0.0), (0.0, 0.0, 0.0, None)),
        pin_pf=10.0,
        screen_tied=True,
        repeats=8,
        sd_pf=0.3,
    )
    assert reading.echoes == (Echo(*PAIR, (12, None), 8000.0, 120.0, 50.0, 1, (0.0, 4000.0)),)
    assert reading.traces == (Trace(*PAIR, -500.0, 250.0, (10, -10)),)


def test_a_foreign_voltage_leaves_everything_unmeasured() -> None:
    """A refusal for a foreign voltage becomes a reading that names contact and voltage, with nothing measured."""
    reading = taken(
        [*introduction(("RES", "LOW")), (RESISTANCE, sound("FOREIGN", 2, 2, 12_050, "DC", 4, -480, "CELL"))]
    )
    assert reading.foreign == (
        ForeignVoltage(near_contact("2"), 12_050, "dc"),
        ForeignVoltage(far_contact("2"), -480, "cell"),
    )
    assert {value for row in reading.resistance_ohm for value in row} == {0.0, None}
    assert reading.low_level_ohm is None


def test_a_foreign_voltage_in_mid_measurement_voids_what_was_measured() -> None:
    """A voltage that appears after the first scan voids that scan too, since it may have been there before."""
    dialogue: Dialogue = [
        *introduction(("RES", "LOW")),
        (RESISTANCE, sound("OK", 4, *triangle({(0, 2): 150}, 4))),
        (LOW, sound("FOREIGN", 1, 1, 900, "PROBE")),
    ]
    reading = taken(dialogue)
    assert reading.foreign == (ForeignVoltage(near_contact("1"), 900, "probing"),)
    assert {value for row in reading.resistance_ohm for value in row} == {0.0, None}


def test_attached_equipment_is_a_reading() -> None:
    """Equipment at the far end is what the reading says of the far plug, with nothing measured."""
    reading = taken([*introduction(), (RESISTANCE, sound("EQUIPMENT"))])
    assert reading.far == "equipment"
    assert {value for row in reading.resistance_ohm for value in row} == {0.0, None}


def test_a_tester_at_fault_is_an_error() -> None:
    """A failed self-test is the tester's fault and no reading."""
    error = failure([*introduction(), (RESISTANCE, sound("SELFTEST", 6))])
    assert "self-test (result 6)" in error.what
    assert "Unplug the cable" in error.hint


def test_contacts_at_which_the_self_test_failed_are_named() -> None:
    """A tester that says at which contacts it failed has them named by end and contact, not by a number."""
    error = failure([*wide_introduction(("CONT",)), (CONTINUITY, sound("SELFTEST", 32, 3, 18))])
    assert error.what == "the tester failed its self-test at near 3, far S"
    assert "lead of that contact" in error.hint


def test_a_tester_that_tells_joined_from_open() -> None:
    """What it says is words, no ohms; what it did not look at is not measured; its step says what joined means."""
    dialogue = introduction(("CONT", "FOREIGN"))
    dialogue[3] = ("TESTer:RESolution? {tag}", sound("OK", 10_000_000))
    reading = taken([*dialogue, (CONTINUITY, sound("OK", 4, "9.91E37", 1, 0, 0, 0, "9.91E37"))])
    assert reading.tester is not None
    assert (reading.tester.features, reading.tester.resolution_ohm) == (("CONT", "FOREIGN"), 10_000.0)
    assert reading.resistance_ohm == (
        (0.0, None, "joined", "open"),
        (None, 0.0, "open", "open"),
        ("joined", "open", 0.0, None),
        ("open", "open", None, 0.0),
    )
    assert (reading.low_level_ohm, reading.capacitance, reading.echoes) == (None, None, ())


def test_a_look_at_what_is_joined() -> None:
    """A look asks such a tester the same question, and what is joined is joined."""
    dialogue = [*introduction(("CONT",)), (CONTINUITY, sound("OK", 4, 0, 1, 0, 0, 1, 0))]
    with on_pty(dialogue) as address, open_tester(address) as tester:
        assert measure.look(tester) == {(0, 2), (1, 3)}


def test_ohms_are_asked_for_where_there_are_ohms() -> None:
    """A tester that knows both says ohms; one that knows neither is refused by name of what it offers."""
    reading = taken([*introduction(("CONT", "RES")), (RESISTANCE, sound("OK", 4, *triangle({(0, 2): 150}, 4)))])
    assert reading.resistance_ohm[0][2] == 0.15
    error = failure(introduction(("FOREIGN",))[:2])
    assert "neither ohms (RES) nor joined from open (CONT)" in error.what
    assert "It offers FOREIGN" in error.hint


def test_a_busy_tester_is_an_error() -> None:
    """A tester that does something else says so."""
    assert "busy" in failure([*introduction(), (RESISTANCE, sound("BUSY"))]).what


def test_a_question_out_of_range_is_asked_once_more() -> None:
    """A question whose numbers arrived damaged, so that they are out of range, is asked once more."""
    values = triangle({}, 4)
    dialogue: Dialogue = [*introduction(), (RESISTANCE, sound("RANGE")), (RESISTANCE, sound("OK", 4, *values))]
    assert taken(dialogue).resistance_ohm[0][1] == "open"


def test_a_scan_of_other_contacts_is_refused() -> None:
    """A scan of more contacts than the tester said it has is damaged: asked again, then an error."""
    five = sound("OK", 5, *triangle({}, 5))
    assert "scanned 5 contacts, and has 4" in failure([*introduction(), (RESISTANCE, five), (RESISTANCE, five)]).what


@pytest.mark.parametrize("far", ["open", "joined", "remote", "equipment"])
def test_far_contacts_are_not_measured_when_the_far_plug_is_elsewhere(far: Far) -> None:
    """With the far plug not in the tester, its empty far socket says nothing of the cable."""
    reading = taken([*introduction(), (RESISTANCE, sound("OK", 4, *triangle({(0, 1): 150}, 4)))], far)
    assert reading.far == far
    assert reading.resistance_ohm == (
        (0.0, 0.15, None, None),
        (0.15, 0.0, None, None),
        (None, None, 0.0, None),
        (None, None, None, 0.0),
    )


@pytest.mark.parametrize("far", ["open", "joined", "remote", "equipment"])
def test_what_arrives_at_the_far_socket_is_kept_whatever_was_said(far: Far) -> None:
    """Conductors that reach the far socket show that the far plug is in it: the reading has them."""
    reading = taken([*introduction(), (RESISTANCE, sound("OK", 4, *triangle({(0, 2): 150}, 4)))], far)
    assert reading.far == far
    assert reading.resistance_ohm[0] == (0.0, "open", 0.15, "open")


def test_an_adapter_gives_the_reading_in_the_cables_contacts() -> None:
    """With an adapter M12 D to RJ45, contacts 1 2 3 4 are RJ45 1 3 2 6 (IEC 61076-2-101), the screen on the screen."""
    joined: dict[tuple[int, int], object] = {(0, 9): 100, (2, 11): 200, (1, 10): 300, (5, 14): 400, (8, 17): 500}
    dialogue: Dialogue = [*wide_introduction(), (RESISTANCE, sound("OK", 18, *triangle(joined, 18)))]
    reading = taken(dialogue, near_adapter=pattern("m12d-rj45"))
    assert reading.near_contacts == ("1", "2", "3", "4", "S")
    assert len(reading.far_contacts) == 9
    place = {name: index for index, name in enumerate(reading.contacts)}
    arrived = {
        (near, far): reading.resistance_ohm[place[near_contact(near)]][place[far_contact(far)]]
        for near, far in [("1", "1"), ("2", "3"), ("3", "2"), ("4", "6"), ("S", "S")]
    }
    assert arrived == {("1", "1"): 0.1, ("2", "3"): 0.2, ("3", "2"): 0.3, ("4", "6"): 0.4, ("S", "S"): 0.5}


def test_an_adapter_serves_echo_and_voltage_too() -> None:
    """Echoes go out on the tester's contacts and come back under the cable's; a voltage is named at the cable."""
    dialogue: Dialogue = [
        *wide_introduction(("RES", "ECHO")),
        (RESISTANCE, sound("OK", 18, *triangle({}, 18))),
        ("MEASure:ECHO? {tag},1,2,50,64", sound("OK", 8000, 0, 50, 1, 1, 9)),
        ("MEASure:ECHO? {tag},3,6,50,64", sound("OK", 8000, 0, 50, 1, 1, 9)),
    ]
    reading = taken(dialogue, near_adapter=pattern("m12d-rj45"), pairs=pattern("m12d-rj45").near_pairs)
    assert [(echo.a, echo.b) for echo in reading.echoes] == [
        (near_contact("1"), near_contact("3")),
        (near_contact("2"), near_contact("4")),
    ]
    refused: Dialogue = [*wide_introduction(), (RESISTANCE, sound("FOREIGN", 1, 6, 700, "DC"))]
    assert taken(refused, near_adapter=pattern("m12d-rj45")).foreign == (ForeignVoltage(near_contact("4"), 700, "dc"),)


def test_a_voltage_beside_the_cable_is_an_error() -> None:
    """A voltage at a contact the adapter does not carry belongs to no contact of the cable, and is still reported."""
    refused: Dialogue = [*wide_introduction(), (RESISTANCE, sound("FOREIGN", 1, 7, 24_000, "DC"))]
    with pytest.raises(
        TesterError, match="there is voltage at the tester's contact 7, which leads to no contact of the cable"
    ):
        taken(refused, near_adapter=pattern("m12d-rj45"))


def test_calibration_follows_the_adapter() -> None:
    """What is known of the empty socket is carried in the cable's contacts as well."""
    empty = tuple(tuple(0.0 if i == j else float(min(i, j) * 100 + max(i, j)) for j in range(18)) for i in range(18))
    known = Calibration("7", NOON, open_pf=empty)
    dialogue: Dialogue = [*wide_introduction(), (RESISTANCE, sound("OK", 18, *triangle({}, 18)))]
    carried = taken(dialogue, near_adapter=pattern("m12d-rj45"), calibration=known).calibration
    assert carried is not None
    assert carried.open_pf is not None
    assert carried.open_pf[0][1:5] == (2.0, 1.0, 5.0, 8.0)  # M12 1 with 2 3 4 S: tester contacts 1 with 3 2 6 S


@pytest.mark.parametrize("name", ["loopback-100", "rj45-m12d", "m12d-m12d"])
def test_what_cannot_be_an_adapter(name: str) -> None:
    """A loopback plug, and an adapter whose far plug does not fit the tester, are refused by name."""
    with pytest.raises(UsageError) as raised:
        taken(wide_introduction(), near_adapter=pattern(name))
    assert name in raised.value.what
    assert "m12d-rj45" in raised.value.hint


def test_the_usual_pairs_are_taken_when_none_are_named() -> None:
    """Without named pairs, echoes are taken between the pairs of the plug: 1-2, 3-6, 4-5, 7-8 (ANSI/TIA-568)."""
    pairs = [("1", "2"), ("3", "6"), ("4", "5"), ("7", "8")]
    dialogue: Dialogue = [
        *wide_introduction(("RES", "ECHO")),
        (RESISTANCE, sound("OK", 18, *triangle({}, 18))),
        *((f"MEASure:ECHO? {{tag}},{a},{b},50,64", sound("OK", 8000, 0, 50, 1, 0)) for a, b in pairs),
    ]
    with on_pty(dialogue) as address, open_tester(address) as tester:
        reading = measure.measure(tester, "open")
    assert [(echo.a, echo.b) for echo in reading.echoes] == [
        (near_contact(str(a)), near_contact(str(b))) for a, b in pairs
    ]
    assert reading.taken_utc is not None


def test_somebody_elses_identification() -> None:
    """An instrument of another kind is named in the error and nothing more is asked of it."""
    error = failure([("*IDN?", b"ACME,SCOPE 3,77,2.1\n")])
    assert "no wiremap tester, it answers as 'ACME,SCOPE 3'" in error.what
    assert "wiremap testers" in error.hint


def test_nobody_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    """A line on which nobody says who it is is an error with a hint, and what was said instead is shown."""
    monkeypatch.setattr(line, "WAKE_S", 0.05)
    error = failure([("*IDN?", b"scan 7\n"), *[("*IDN?", b"")] * 4])
    assert "no answer to '*IDN?' within 0.25 s" in error.what
    assert "scan 7" in error.what
    assert "wiremap learn" in error.hint


@pytest.mark.parametrize(
    "said", [b">>> *IDN?\r\nTraceback (most recent call last):\r\n", b"\r\n>>> ", b"\n>>> \n>>> x"]
)
def test_a_board_that_was_never_flashed(said: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """A prompt of MicroPython, with a line feed behind it or not, is known after one question; told is how to flash."""
    monkeypatch.setattr(line, "WAKE_S", 0.3)
    error = failure([("*IDN?", said)])
    assert "MicroPython answers there, and the tester's program is not on it" in error.what
    assert "firmware_sim/README.md" in error.hint


def test_a_silent_board_of_the_usual_usb_id(monkeypatch: pytest.MonkeyPatch) -> None:
    """Silence at a port whose USB id is that of a board with MicroPython says so, and how to flash."""
    monkeypatch.setattr(line, "WAKE_S", 0.05)
    with on_pty([("*IDN?", b"")] * 5) as address:
        there = SimpleNamespace(device=address, vid=0x2E8A, pid=0x0005, serial_number="E6")
        monkeypatch.setattr(list_ports, "comports", lambda: [there])
        with pytest.raises(TesterError) as raised, open_tester(address):
            pass
    assert "by its USB id it is a board with MicroPython" in raised.value.what
    assert "If the tester's program was never put on it" in raised.value.hint


def test_where_the_error_sends_one_the_commands_stand() -> None:
    """The heading that the hints name is in the firmware's document, with commands that flash."""
    told = (Path(firmware_sim.__file__).parent / "README.md").read_text(encoding="utf-8")
    assert "firmware_sim/README.md" in line.FLASH_IT
    assert "Flashing" in line.FLASH_IT
    assert "mpremote connect" in told.split("## Flashing")[1].split("\n## ")[0]


def test_a_board_that_starts_anew_when_its_port_opens(monkeypatch: pytest.MonkeyPatch) -> None:
    """Questions that it was deaf for are asked again; answers that come more than once are passed over."""
    monkeypatch.setattr(line, "WAKE_S", 0.5)
    who, *others = introduction()
    assert isinstance(who[1], bytes)
    dialogue = [("*IDN?", b""), ("*IDN?", b"\x00boot\r\n"), ("*IDN?", 3 * who[1]), *others]
    reading = taken([*dialogue, (RESISTANCE, sound("OK", 4, *triangle({}, 4)))])
    assert reading.tester is not None
    assert reading.tester.serial == "7"


def test_a_late_answer_of_an_earlier_session_is_no_identification() -> None:
    """A measurement answer that arrives late, with four fields, is not taken for an identification."""
    dialogue = introduction()
    dialogue[0] = ("*IDN?", frame(900, "OK", 200) + b"WIREMAP,BENCH-18,7,1.0.0\r\n")
    reading = taken([*dialogue, (RESISTANCE, sound("OK", 4, *triangle({}, 4)))])
    assert reading.tester is not None
    assert reading.tester.serial == "7"


@pytest.mark.parametrize("cut", [0, 40, 200])
def test_a_tester_that_dies_while_it_measures(cut: int) -> None:
    """A tester that dies before, in or near the end of its scan gives an error and no reading."""

    def dying(tag: int) -> bytes:
        return frame(tag, "OK", 4, *triangle({(0, 2): 123_456}, 4))[:cut] + HANG_UP

    if cut == 200:
        error = failure([*introduction(("RES", "LOW")), (RESISTANCE, dying)])
    else:
        error = failure([*introduction(), (RESISTANCE, dying)])
    assert "the line to the tester broke" in error.what
