"""The dialogue with a tester: who are you, what can you do, what do you see. Out: a Reading, unjudged."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Literal, TypeVar

from msgspec import Struct

from wiremap.cable.patterns import Pattern, pattern
from wiremap.calibration import Calibration
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import FileError, TesterError, WiremapError
from wiremap.reading.adapters import pick_calibration, route
from wiremap.reading.joined import joined_pairs
from wiremap.reading.parts import Capacitance, Echo, ForeignVoltage, Tester, Trace
from wiremap.reading.reading import TELLS_JOINED, TELLS_OHMS, Far, Ohm, Reading
from wiremap.reading.soundness import check_capacitance, check_echo, check_tester, check_trace
from wiremap.tester import answers
from wiremap.tester.answers import Answer, FrameError, Voltage
from wiremap.tester.line import Line, open_line, usb_addresses
from wiremap.tester.view import WATCHED_OHM, View, contradiction_in

T = TypeVar("T")
MAKER = "WIREMAP"
SIMULATED = "SIM"  # the word of a tester that is none
WATCH = "WATCH"
QUICK_S, SCAN_S, CAPACITANCE_S, ECHO_S = 3.0, 15.0, 30.0, 10.0
STEADY_HINT = (
    "Hold the cable still and measure again; `wiremap watch` tells whether a contact comes and goes. "
    "If it stays so, repair the tester."
)
DRY_HINT = (
    "Hold the cable still and measure again; look for water or salt in both plugs, and dry them: a leak of some 10 "
    "kohm to 1 Mohm is taken for joined or for open. If it stays so, repair the tester."
)
CAPACITANCE = "MEASure:ARRay:CAPacitance?"
CAPACITANCE_REPEATS, ECHO_REPEATS, ECHO_DRIVE_OHM = 8, 64, 50


class OpenTester(Struct, frozen=True):
    """A tester that is connected and has said who it is; contacts are those of its two sockets."""

    line: Line
    tester: Tester
    near_contacts: tuple[str, ...]
    far_contacts: tuple[str, ...]

    def ask(self, header: str, *arguments: int | str, parse: Callable[[Answer], T], timeout_s: float) -> T:
        """Ask as the line does; what the tester refuses comes out as `ok` says, by the names of its contacts."""
        sockets = (*map(near_contact, self.near_contacts), *map(far_contact, self.far_contacts))
        return self.line.ask(header, *arguments, parse=ok(parse, sockets), timeout_s=timeout_s)

    def scan(self, view: View, timeout_s: float | None = None) -> tuple[Ohm, ...]:
        """Return what is joined to what, a triangle row by row: ohms where known; timeout_s: None = the usual."""
        timeout_s = SCAN_S if timeout_s is None else timeout_s
        if TELLS_OHMS in self.tester.features:
            return self.ask("MEASure:ARRay:RESistance?", parse=view.resistances, timeout_s=timeout_s)
        return self.ask("MEASure:ARRay:CONTinuity?", parse=view.continuities, timeout_s=timeout_s)


class FoundTester(Struct, frozen=True):
    """A port that may hold a tester: who it is, or why it could not be asked."""

    address: str
    tester: Tester | None
    problem: WiremapError | None


class RefusedError(Exception):
    """The tester drove nothing, for a reason that belongs to the cable: equipment, or voltages by contact."""

    def __init__(self, far: Far | None, foreign: tuple[Voltage, ...]) -> None:
        self.far = far
        self.foreign = foreign


@contextmanager
def open_tester(address: str | None = None) -> Iterator[OpenTester]:
    """Open the tester at an address, or the only one connected; TesterError says what to do when there is none."""
    with open_line(address or _only_address()) as line:
        yield identify(line)


def identify(line: Line) -> OpenTester:
    """Ask a tester who it is, what it can do and what contacts it has."""
    maker, model, serial, firmware = line.identification()
    if maker != MAKER:
        raise TesterError(
            f"{line.address}: this is no wiremap tester, it answers as '{maker},{model}'",
            "Give the address of the tester; `wiremap testers` lists what is connected.",
        )
    words = line.ask("TESTer:FEATures?", parse=ok(answers.features), timeout_s=QUICK_S)
    with answering("TESTer:FEATures?"):
        check_tester(Tester(maker, model, serial, firmware, words))
    if not {TELLS_OHMS, TELLS_JOINED} & {*words}:
        raise TesterError(
            f"{line.address}: this tester tells neither ohms (RES) nor joined from open (CONT)",
            "It offers " + (", ".join(words) or "nothing") + "; its firmware needs one of the two.",
        )
    near, far = line.ask("TESTer:CONTacts?", parse=ok(answers.contacts), timeout_s=QUICK_S)
    fineness = line.ask("TESTer:RESolution?", parse=ok(answers.fineness), timeout_s=QUICK_S)
    if WATCH in words:  # one that a program left running when it was killed would keep the tester busy
        line.ask("WATCh:STOP?", parse=ok(lambda _answer: None), timeout_s=QUICK_S)
    return OpenTester(line, Tester(maker, model, serial, firmware, words, *fineness), near, far)


def measure(
    tester: OpenTester,
    far: Far = "tester",
    *,
    near_adapter: Pattern | None = None,
    far_adapter: Pattern | None = None,
    near_pairs: Sequence[tuple[str, str]] | None = None,
    far_pairs: Sequence[tuple[str, str]] | None = None,
    calibration: Calibration | None = None,
    taken_utc: str | None = None,
) -> Reading:
    """Measure all that the tester offers and return it in the cable's contacts.

    far: what the far plug is in; unless it is the tester, what concerns far contacts is not measured, but for
    resistances where the far plug is in the tester all the same.
    near_adapter, far_adapter: from the cable's plug to the tester's socket. near_pairs, far_pairs: contacts of
    the cable between which echoes and traces are taken, None = the usual pairs of the plug. taken_utc: None = now.

    When a voltage or equipment is met, nothing is measured and the Reading says so; a tester that is itself at
    fault raises TesterError.
    """
    view = view_of(tester, far, near_adapter, far_adapter)
    pairs = [(near_contact(a), near_contact(b)) for a, b in _pairs(near_pairs, near_adapter)]
    if far == "tester":
        pairs += [(far_contact(a), far_contact(b)) for a, b in _pairs(far_pairs, far_adapter)]

    def reading(far: Far, seen: "_Seen") -> Reading:
        return Reading(
            taken_utc=taken_utc or f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}",
            tester=tester.tester,
            calibration=None if calibration is None else pick_calibration(calibration, view.indices),
            far=far,
            near_contacts=view.near,
            far_contacts=view.far,
            resistance_ohm=seen.resistance_ohm,
            low_level_ohm=seen.low_level_ohm,
            capacitance=seen.capacitance,
            echoes=seen.echoes,
            traces=seen.traces,
            foreign=seen.foreign,
            origin="simulator" if SIMULATED in tester.tester.features else "tester",
        )

    try:
        return reading(far, _scan(tester, view, pairs))
    except FileError as error:
        raise TesterError(
            f"the tester measured what cannot be: {error.what}", "Measure again; if it stays so, repair the tester."
        ) from error
    except RefusedError as refused:
        voltages = tuple(map(view.voltage, refused.foreign))
        return reading(refused.far or far, _Seen(view.square(view.nothing), foreign=voltages))


def look(
    tester: OpenTester, near_adapter: Pattern | None = None, far_adapter: Pattern | None = None
) -> frozenset[tuple[int, int]]:
    """Return what a scan sees joined: pairs (a, b), a < b, of the Reading's contacts from 0.

    RefusedError when a voltage or equipment is there; TesterError as in `measure`.
    """
    view = view_of(tester, "tester", near_adapter, far_adapter)
    return joined_pairs(view.square(tester.scan(view)), WATCHED_OHM)


def find_testers() -> tuple[FoundTester, ...]:
    """Ask every port whose USB id fits who is there; the id alone proves nothing."""
    found = []
    for address in usb_addresses():
        try:
            with open_tester(address) as tester:
                found.append(FoundTester(address, tester.tester, None))
        except WiremapError as problem:
            found.append(FoundTester(address, None, problem))
    return tuple(found)


def _pairs(wanted: Sequence[tuple[str, str]] | None, adapter: Pattern | None) -> Sequence[tuple[str, str]]:
    if wanted is not None:
        return wanted
    return (adapter or pattern("straight")).near_pairs


def _only_address() -> str:
    there = find_testers()
    sound = [found.address for found in there if found.tester is not None]
    if len(sound) == 1:
        return sound[0]
    if sound:
        raise TesterError("more than one tester is connected: " + ", ".join(sound), "Say which one with --tester.")
    if there and there[0].problem is not None:
        raise there[0].problem
    raise TesterError(
        "no tester is connected",
        "Plug one in, or name one with --tester; `--tester sim` starts the simulator.",
    )


@contextmanager
def answering(question: str) -> Iterator[None]:
    """Turn what cannot be in a sound answer into a TesterError that names value and question."""
    try:
        yield
    except FileError as error:
        what = error.what.removeprefix("reading: ")
        raise TesterError(
            f"the tester says what cannot be, asked '{question}': {what}",
            f"{error.hint} Measure again; if it stays so, repair the tester.",
        ) from error


class _Seen(Struct, frozen=True):
    resistance_ohm: tuple[tuple[Ohm, ...], ...]
    low_level_ohm: tuple[tuple[Ohm, ...], ...] | None = None
    capacitance: Capacitance | None = None
    echoes: tuple[Echo, ...] = ()
    traces: tuple[Trace, ...] = ()
    foreign: tuple[ForeignVoltage, ...] = ()


def view_of(
    tester: OpenTester, far: Far = "tester", near_adapter: Pattern | None = None, far_adapter: Pattern | None = None
) -> View:
    """Return the cable's contacts as the tester's sockets and the adapters give them."""
    near = route(tester.near_contacts, near_adapter)
    beyond = route(tester.far_contacts, far_adapter)
    offset = len(tester.near_contacts)
    here = tuple(index for _, index in near)
    there = tuple(None if index is None else index + offset for _, index in beyond)
    return View(
        near=tuple(name for name, _ in near),
        far=tuple(name for name, _ in beyond),
        indices=(*here, *(there if far == "tester" else [None] * len(there))),
        sockets=(*here, *there),
        size=offset + len(tester.far_contacts),
    )


def _scan(tester: OpenTester, view: View, pairs: Sequence[tuple[Contact, Contact]]) -> _Seen:
    """Ask for one thing after the other; the scan comes first, since it is refused where driving would harm."""
    features = tester.tester.features
    resistance = _resistances(tester, view)
    low = None
    if "LOW" in features:
        low = tester.ask("MEASure:ARRay:RESistance:LOW?", parse=view.resistances, timeout_s=SCAN_S)
    capacitance = None
    if "CAP" in features:
        pair = _capacitances(tester, view, "PAIR")
        grouped = "GROUP" in features
        single = _capacitances(tester, view, "SINGle") if grouped else None
        double = _capacitances(tester, view, "DOUBle") if grouped else None
        capacitance = view.capacitance(pair, single, double)
        with answering(CAPACITANCE):
            check_capacitance(capacitance, view.contacts)
    echoes, traces = [], []
    for a, b in pairs:
        first, second = view.contact_number(a), view.contact_number(b)
        if first is None or second is None:
            continue
        if "ECHO" in features:
            times = tester.ask(
                "MEASure:ECHO?",
                first,
                second,
                ECHO_DRIVE_OHM,
                ECHO_REPEATS,
                parse=answers.echo,
                timeout_s=ECHO_S,
            )
            echoes.append(
                Echo(
                    a,
                    b,
                    times.ticks,
                    float(times.tick_ps),
                    float(times.launch_ps),
                    float(times.drive_ohm),
                    times.polarity,
                    None if times.dither_ps is None else tuple(map(float, times.dither_ps)),
                )
            )
            with answering("MEASure:ECHO?"):
                check_echo(echoes[-1])
        if "TRACE" in features:
            samples = tester.ask("MEASure:TRACe?", first, second, parse=answers.trace, timeout_s=ECHO_S)
            traces.append(Trace(a, b, float(samples.t0_ps), float(samples.dt_ps), samples.microvolts))
            with answering("MEASure:TRACe?"):
                check_trace(traces[-1])
    return _Seen(
        view.square(resistance),
        None if low is None else view.square(low),
        capacitance,
        tuple(echoes),
        tuple(traces),
    )


def _resistances(tester: OpenTester, view: View) -> tuple[Ohm, ...]:
    """Return a scan that does not contradict itself; one that does is asked for once more, then TesterError says why.

    Two contacts that are both joined to a third are joined: no network is otherwise. A contact that opened in the
    middle of the scan shows so too, seldom twice.
    """
    for last in (False, True):
        found = tester.scan(view)
        why = contradiction_in(view.square(found), view.contacts)
        if why is None:
            return found
        if last:
            break
    ohms = TELLS_OHMS in tester.tester.features
    asked = "RESistance" if ohms else "CONTinuity"
    raise TesterError(
        f"the tester contradicts itself, asked 'MEASure:ARRay:{asked}?' twice: {why}",
        STEADY_HINT if ohms else DRY_HINT,
    )


def _capacitances(tester: OpenTester, view: View, form: Literal["PAIR", "SINGle", "DOUBle"]) -> answers.Capacitances:
    def parse(answer: Answer) -> answers.Capacitances:
        found = answers.capacitances(answer, form)
        view.check(found.contacts, answer)
        return found

    return tester.ask(CAPACITANCE, form, CAPACITANCE_REPEATS, parse=parse, timeout_s=CAPACITANCE_S)


def ok(parse: Callable[[Answer], T], sockets: Sequence[Contact] = ()) -> Callable[[Answer], T]:
    """Return a parser for measured answers; a refusal raises RefusedError, a fault of the tester itself TesterError.

    sockets: the tester's contacts as it numbers them, to name those at which it failed.
    """

    def parsed(answer: Answer) -> T:
        if answer.status == "OK":
            return parse(answer)
        if answer.status == "FOREIGN":
            found = answers.voltages(answer)
            if sockets and any(voltage.contact >= len(sockets) for voltage in found):
                raise FrameError(
                    f"the tester says of a voltage at a contact that it does not have, of {len(sockets)}",
                    raw=answer.raw,
                )
            raise RefusedError(None, found)
        if answer.status == "EQUIPMENT":
            raise RefusedError("equipment", ())
        if answer.status == "SELFTEST":
            raise _self_test_failed(answer, sockets)
        if answer.status == "BUSY":
            raise TesterError(
                "the tester is busy with something else", "End the other measurement, or plug the tester in again."
            )
        raise FrameError("the tester refused the question as out of its range", raw=answer.raw)

    return parsed


def _self_test_failed(answer: Answer, sockets: Sequence[Contact]) -> TesterError:
    result, at = answers.failed_self_test(answer)
    named = [str(sockets[contact]) if contact < len(sockets) else f"its contact {contact + 1}" for contact in at]
    if not named:
        return TesterError(
            f"the tester failed its self-test (result {result})",
            "Unplug the cable, plug the tester in again and repeat; if it stays so, repair the tester.",
        )
    return TesterError(
        f"the tester failed its self-test at {', '.join(named)}",
        "Unplug the cable and repeat. If it stays so, the fault is in the tester: look at the lead of that contact.",
    )
