"""What the bench board measures: each query takes its parameters as texts and returns the fields of its answer."""

import answer
import bridge
import guard
import look
import lowlevel
import matrix
import micropython
import ohms
import own
import pins
import safety
import scan
import scpi
import trust
import watch
import whole
from watch import go_on as go_on

MODEL = "BENCH-18"
FEATURES = ("RES", "LOW", "CAP", "GROUP", "FOREIGN", "WATCH")
MOST_REPEATS = 256
WEIGHED_ONCE = 4  # repeats asked for are one weighing, which reads each level eight times and more, twice
FEWEST = 2  # weighings, in two orders of the nets
SHOWN_MV = 50


class Scanned:
    """What the last scan saw; held: what its nets hold, once that was asked for, and with how many repeats."""

    def __init__(self, seen: scan.Scan, low: "dict[tuple[int, int], int]", equipment: bool) -> None:
        self.seen = seen
        self.low = low
        self.equipment = equipment
        self.held: "list[tuple[int, matrix.Matrix]]" = []


_last: "list[Scanned]" = []


def forget() -> None:
    """Trust nothing seen so far, and end the watch."""
    watch.watching.stop()
    trust.forget()
    _last[:] = []


def busy() -> bool:
    """Return whether something goes on between messages."""
    return watch.watching.running


def resolution(_given: "list[str]") -> "list[str]":
    """Say how finely a conductor's resistance is seen, how far it scatters at low level, and the highest voltage shown.

    Milliohm, milliohm, millivolts.
    """
    return ["%d" % ohms.STEP_MILLIOHM, "%d" % lowlevel.DEVIATION_MILLIOHM, "%d" % look.HIGHEST_MV]


def resistance(_given: "list[str]") -> "list[str]":
    """Scan every two contacts; equipment is not measured beyond that."""
    return _fields(_scan().seen.milliohm, answer.INFINITY)


def low_level(_given: "list[str]") -> "list[str]":
    """Give what the last scan saw at low level, before more went through; scan when there was none."""
    last = _last[0] if _last else _scan()
    size = pins.CONTACTS
    values = [last.low.get((a, b)) for a in range(size) for b in range(a + 1, size)]
    return _fields(values, answer.NOT_MEASURED)


def _scan() -> Scanned:
    _last[:] = []
    guard.pass_gently()
    joints = lowlevel.run()
    guard.look_at_nets(lowlevel.hanging_together(joints))
    guard.pass_rest()
    seen = scan.run()
    guard.look_at_nets(seen.nets)
    equipment = guard.pass_windings(seen.milliohm)
    low: "dict[tuple[int, int], int]" = {}
    if not equipment:
        ohms.run(seen, lowlevel.looks(joints, seen.nets, low))
        pins.release()
        guard.look_over()
    _last.append(Scanned(seen, low, equipment))
    safety.bring_down()
    return _last[0]


@micropython.native
def _fields(values: "list[int | None]", missing: str) -> "list[str]":
    return ["%d" % pins.CONTACTS] + [missing if value is None else "%d" % value for value in values]


def capacitances(given: "list[str]") -> "list[str]":
    """Give capacitance: PAIR, SINGLE or DOUBLE; all three come of one measurement, made when first asked for."""
    form = given[0].upper()
    if form not in ("PAIR", "SING", "SINGLE", "DOUB", "DOUBLE"):
        raise scpi.ScpiError(scpi.PARAMETER_VALUE, given[0])
    repeats = scpi.integer(given[1], 1, MOST_REPEATS) if len(given) > 1 else 8
    size = pins.CONTACTS
    if not _last:
        _scan()
    last = _last[0]
    head = ["%d" % size, "0", "%d" % repeats, "%d" % bridge.PIN_FF]
    if last.equipment:
        count = size if form.startswith("SING") else size * (size - 1) // 2
        return head + [answer.NOT_MEASURED] * (1 + count)
    if not last.held or last.held[0][0] != repeats:
        guard.pass_quickly()
        last.held[:] = [(repeats, bridge.run(last.seen, max(FEWEST, repeats // WEIGHED_ONCE)))]
        safety.bring_down()
    held = last.held[0][1]
    # The mean of all weighings is then as good as the mean of so many repeats.
    deviation = whole.root(held.squares * repeats * len(held.nets) // (held.freedom * held.weighings))
    return head + ["%d" % deviation] + _shown(held, form)


@micropython.native
def _shown(held: matrix.Matrix, form: str) -> "list[str]":
    size = pins.CONTACTS
    net_of = [0] * size
    for number, net in enumerate(held.nets):
        for contact in net:
            net_of[contact] = number
    if form.startswith("SING"):
        singles = matrix.singles(held)
        return [_femtofarads(singles[net_of[a]], held.spoilt[net_of[a]]) for a in range(size)]
    found = []
    pairs = matrix.pairs(held) if form == "PAIR" else []
    for a in range(size):
        for b in range(a + 1, size):
            i, j = net_of[a], net_of[b]
            if form == "PAIR":
                value = answer.NOT_MEASURED if i == j else _femtofarads(pairs[i][j], held.spoilt[i] or held.spoilt[j])
            elif i == j:
                value = _femtofarads(held.own[i], held.spoilt[i])
            else:
                value = _femtofarads(matrix.double(held, i, j), held.spoilt[i] or held.spoilt[j])
            found.append(value)
    return found


@micropython.native
def _femtofarads(value: int, spoilt: bool) -> str:
    if spoilt:
        return answer.NOT_MEASURED
    return answer.INFINITY if value >= matrix.LARGEST_FF else "%d" % (value if value > 0 else 0)


def voltage(_given: "list[str]") -> "list[str]":
    """Look at the voltages that are there; drive nothing."""
    found = guard.voltages(SHOWN_MV, True)
    fields = ["%d" % len(found)]
    for contact, millivolts, kind in found:
        fields.extend(("%d" % (contact + 1), "%d" % millivolts, kind))
    return fields


def figures(_given: "list[str]") -> "list[str]":
    """Give what the board finds of itself: for each group a word, a count, and so many figures."""
    found = []
    for word, values in own.groups():
        found.extend([word, "%d" % len(values)] + ["%d" % value for value in values])
    safety.bring_down()
    return found


# Each query: what parameters it has beside the tag, least and most, and whether it drives.
COMMANDS = (
    ("TESTer:RESolution?", resolution, 0, 0, False),
    ("MEASure:ARRay:RESistance?", resistance, 0, 0, True),
    ("MEASure:ARRay:RESistance:LOW?", low_level, 0, 0, True),
    ("MEASure:ARRay:CAPacitance?", capacitances, 1, 2, True),
    ("MEASure:VOLTage?", voltage, 0, 0, True),
    ("DIAGnostic:FIGures?", figures, 0, 0, True),
) + watch.QUERIES
