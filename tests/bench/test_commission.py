"""A board's commissioning: its steps and their limits, its course, what it catches, what it fits on."""

import math
from datetime import UTC, datetime
from pathlib import Path

import pytest

from firmware_sim.hardware.bench import bench
from tests.bench.commission_checks import UNSEEN, faults, only
from tests.bench.technician import Technician
from wiremap.bench.commission.amounts import amount_typed
from wiremap.bench.commission.course import Course, answered, by_tester, course_from, said
from wiremap.bench.commission.page import end_page, step_page
from wiremap.bench.commission.probes import PROBES
from wiremap.bench.commission.steps import BoardStep, steps_of
from wiremap.errors import FileError, UsageError
from wiremap.reading.parts import Tester
from wiremap.records.commissions import BOARD_KINDS, BoardKind, Commission, Found
from wiremap.report.terminal.display import Terminal
from wiremap.report.words.faults import capital

AT = datetime(2026, 3, 1, 8, 30, tzinfo=UTC)
BENCH = {step.name: step for step in steps_of("bench")}
SIZES = (Terminal(80, 24), Terminal(40, 16), Terminal(40, 16, 8))


def before(board: BoardKind, name: str) -> Course:
    """Return the course of a board at a step, nothing before it measured."""
    names = [step.name for step in steps_of(board)]
    skipped = steps_of(board)[: names.index(name)]
    found = tuple(Found(step.name, step.title, "not-measured", "2026-03-01T08:30:00Z") for step in skipped)
    return Course(Commission(board, simulated=True, found=found))


@pytest.mark.parametrize("board", BOARD_KINDS)
def test_steps_are_whole(board: BoardKind) -> None:
    """Every step has figures with a limit, a name of its own, and a probe that exists or a meter."""
    steps = steps_of(board)
    assert len({step.name for step in steps}) == len(steps)
    for step in steps:
        assert step.figures, step.name
        assert not step.probe or step.probe in PROBES
        assert all(figure.low is not None or figure.high is not None for figure in step.figures)
        assert len({figure.name for figure in step.figures}) == len(step.figures)
    powers = [step.power for step in steps]
    assert powers == sorted(powers, key=("off", "on").index), "power stays on once it is on"
    assert [step.name for step in steps if step.power == "off"][-1] == "apart"


def test_power_of_57_v_is_for_boards_that_stand_it() -> None:
    """A bare board without clamps is told to meet two dry cells and nothing more."""
    told = " ".join(step.do + step.caution for step in steps_of("bare"))
    assert "57 V" not in told
    assert "12 V" not in told
    for board in ("bench", "bare-clamped"):
        for step in steps_of(board):
            if "57 V" in step.do or "12 V" in step.do:
                assert "50 mA" in step.do + step.caution, step.name
                assert "ever mains" in step.caution, step.name


@pytest.mark.parametrize("terminal", SIZES)
@pytest.mark.parametrize("board", BOARD_KINDS)
def test_every_step_fits_and_says_all_of_it(board: BoardKind, terminal: Terminal) -> None:
    """Title, caution, what to do, the figure and the keys stand on one screen, doubtful or not."""
    for step in steps_of(board):
        course = before(board, step.name)
        text = step_page(course, terminal)
        assert text.count("\n") <= (terminal.height or 24) - 1, step.name
        flat = " ".join(text.split())
        for wanted in (
            step.title,
            step.caution,
            step.do,
            *(() if step.probe else (capital(step.figures[0].name),)),
            "q stop",
        ):
            if not terminal.colours:
                assert " ".join(wanted.split()) in flat, step.name
        worst = by_tester(course, {figure.name: _wrong(step, number) for number, figure in enumerate(step.figures)}, AT)
        assert worst.doubtful is not None, step.name
        assert step_page(worst, terminal).count("\n") <= (terminal.height or 24) - 1, step.name


def _wrong(step: BoardStep, number: int) -> float:
    figure = step.figures[number]
    return figure.high + 1 + abs(figure.high) if figure.high is not None else (figure.low or 0.0) / 2 - 1


def test_limits_follow_from_the_netlist() -> None:
    """What an ohm-meter may show holds every part's tolerance and refuses a part of the next value of its series."""
    sound = {step: Technician(Path(), "bench", drawn=seed).typed(step) for seed in range(1, 9) for step in OHM_STEPS}
    for step, lines in sound.items():
        for figure, line in zip(BENCH[step].figures, lines, strict=True):
            assert figure.found(amount_typed(line, "ohm")).holds, (step, line)
    off = {"R62": 1.1, "R59": 1.1, "R3": 1.1, "R25": 1.1, "R44": 1.1, "R45": 1.1, "R55": 1.1, "R57": 1.1, "R42": 1.1}
    for reference, factor in off.items():
        technician = Technician(Path(), "bench", {reference: factor})
        assert any(
            not figure.found(amount_typed(line, "ohm")).holds
            for step in OHM_STEPS
            for figure, line in zip(BENCH[step].figures, technician.typed(step), strict=True)
        ), reference


OHM_STEPS = [step.name for step in steps_of("bench") if step.name.endswith("-ohms") and not step.probe]


def test_bounds_that_the_circuit_gives() -> None:
    """The low level, the divider, the drive and a part at 57 V: limits hold what the parts give at their worst."""
    part = bench().part
    ohms = {name: float(part(name).kind.quantity or 0) for name in ("R41", "R42", "R56", "R57", "R58", "R1", "RN1")}
    lift_mv = 3300 * ohms["R41"] / (ohms["R41"] + ohms["R42"])
    (low,) = BENCH["low-level"].figures
    assert low.low is not None
    assert low.low < lift_mv < 1.05 * 1.02 * lift_mv < (low.high or 0) == 20.0
    middle = ohms["R58"] / (ohms["R56"] + ohms["R57"] + ohms["R58"])
    lowest, highest = (BENCH["converter"].figures[2].low, BENCH["converter"].figures[2].high)
    assert lowest is not None
    assert highest is not None
    assert lowest < middle < highest
    assert not lowest < middle * 1.02 < highest
    drive = BENCH["patch"].figures[3]
    assert drive.low is not None
    assert drive.high is not None
    ends = (ohms["R1"] * 0.99 + ohms["RN1"] * 0.98 + 30, ohms["R1"] * 1.01 + ohms["RN1"] * 1.02 + 90)
    assert drive.low <= ends[0] < ends[1] <= drive.high
    volt = 2.495 * (1 + 8060 / 20000)
    assert volt < (BENCH["rail-57"].figures[0].high or 0) < 3.63


@pytest.mark.parametrize(
    ("text", "unit", "amount"),
    [
        ("838", "ohm", 838.0),
        ("3.33k", "ohm", 3330.0),
        ("3,33 kohm", "ohm", 3330.0),
        ("1.2 Mohm", "ohm", 1.2e6),
        ("OL", "ohm", "open"),
        ("0.5 V", "mV", 500.0),
        ("-0.002", "V", -0.002),
        ("+14mV", "mV", 14.0),
    ],
)
def test_amounts_as_meters_show_them(text: str, unit: str, amount: float | str) -> None:
    """Numbers with and without their unit, a decimal comma, and a meter's word for open."""
    found = amount_typed(text, unit)
    assert found == amount if isinstance(amount, str) else math.isclose(float(found), amount)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("", "ohm"),
        ("1,000", "ohm"),
        ("12 V", "ohm"),
        ("OL", "V"),
        ("1e3", "ohm"),
        ("3.3.3", "ohm"),
        ("nan", "ohm"),
        ("inf", "mV"),
        ("0x10", "ohm"),
        ("\u0663", "ohm"),
        ("9" * 20, "ohm"),
        ("5 m", "ohm"),
    ],
)
def test_slips_are_no_amounts(text: str, unit: str) -> None:
    """What can mean two things, another unit, and no number at all are refused with what to type."""
    with pytest.raises(UsageError) as error:
        amount_typed(text, unit)
    assert error.value.hint


def test_a_slip_can_be_taken_back() -> None:
    """A figure beyond its limits is asked about; undo takes it, then typed figures, then the step before."""
    course = said(said(Course(Commission("bench")), "838"), "383")
    assert course.doubtful is not None
    assert course.commission.found == ()
    assert said(course, "840").trouble
    course = said(said(said(course, "u"), "838"), "u")
    assert course.typed == ()
    course = said(said(course, "838"), "838")
    assert [found.step for found in course.commission.found] == ["rail-ohms"]
    assert said(said(course, "u"), "u").trouble
    assert said(course, "u").step == steps_of("bench")[0]


def test_what_fails_is_over_and_goes_on_with_that_step() -> None:
    """Confirmed, a step that does not hold ends it; begun again it asks for that step, and for those not measured."""
    course = said(Course(Commission("bench")), "n")
    for line in ("2200", "10", "2400", "100", "f"):
        course = said(course, line)
    assert (course.step, course.commission.judged) == (None, "fail")
    assert "Each contact to its port pin" in end_page(course.commission, Terminal(), "")
    again = course_from(course.commission)
    assert [found.step for found in again.commission.found] == ["gate-ohms"]
    assert again.step is not None
    assert again.step.name == "rail-ohms"


def test_another_board_is_not_taken_for_this_one() -> None:
    """The serial number of the tester that answered first stays."""
    course = answered(Course(Commission("bench")), Tester("WIREMAP", "BENCH-18", "A1", "1.0"))
    with pytest.raises(UsageError, match="B2 answers"):
        answered(course, Tester("WIREMAP", "BENCH-18", "B2", "1.0"))


def test_steps_of_another_version_are_refused() -> None:
    """A record with a step that is not known is not gone on with."""
    odd = Commission("bench", found=(Found("odd", "Odd", "not-measured", "2026-03-01T08:30:00Z"),))
    with pytest.raises(FileError, match="'odd'"):
        course_from(odd)


def test_nothing_measured_is_not_proven() -> None:
    """Without a meter every step but the answer can be left out; then it is not proven, and each step is named."""
    course = Course(Commission("bench"))
    while course.step is not None:
        if course.step.name == "answers":
            assert "no record" in said(course, "n").trouble
            course = by_tester(course, {course.step.figures[0].name: 1.0}, AT)
        else:
            course = said(course, "n")
    assert course.commission.judged == "undecided"
    page = " ".join(end_page(course.commission, Terminal(), "").split())
    assert "NOT PROVEN" in page
    assert all(step.title in page for step in steps_of("bench") if step.name != "answers")


def test_a_sound_bare_board_goes_through(tmp_path: Path) -> None:
    """By the book, every step holds."""
    technician = Technician(tmp_path, "bare-clamped")
    course = technician.until(technician.begins())
    assert course.doubtful is None
    assert course.commission.judged == "pass"
    assert course.commission.simulated


def test_a_sound_bench_board_holds_where_the_tester_measures(tmp_path: Path) -> None:
    """Parts drawn within their tolerances: what the meter shows, and the tester's own figures."""
    technician = Technician(tmp_path, "bench", drawn=7)
    course = technician.begins()
    while course.step is not None and not course.step.probe:
        course = technician.goes_on(course)
    assert course.doubtful is None
    assert course.step is not None
    assert only("patch", technician).doubtful is None


@pytest.mark.parametrize(
    ("off", "leaks", "step"),
    [
        ({"R1": 1.05}, {}, "patch"),
        ({"C1": 0.0}, {}, "self-test"),
        ({"R58": 1.05}, {}, "converter"),
        ({"R41": 2.0}, {}, "low-level"),
        ({}, {"D5": 1000.0}, "empty"),
        ({}, {"D12": -200.0}, "leakage"),
    ],
)
def test_what_is_off_is_caught_by_its_step(
    off: dict[str, float], leaks: dict[str, float], step: str, tmp_path: Path
) -> None:
    """The tester alone finds it too, whatever the ohm-meter said before."""
    course = only(step, Technician(tmp_path, "bench", off, leaks))
    assert course.doubtful is not None
    assert course.doubtful.step == step


def test_the_ohm_meter_finds_parts_that_are_off() -> None:
    """Each resistor missing or 5 % up is met by a step with the power off, but for those that later steps see."""
    later = {"R41", "R56", "R58"}
    for off, leaks in faults(1, 10**6):
        (part,) = off.items() if off else [("", 1.0)]
        if leaks or part[0][0] not in "R" or part in UNSEEN or (part[1] and part[0] in later):
            continue
        technician = Technician(Path(), "bench", off)
        course = technician.begins()
        while course.step is not None and course.doubtful is None and course.step.power == "off":
            course = technician.goes_on(course)
        assert course.doubtful is not None, off
