"""Program messages after IEEE 488.2 and SCPI-1999: headers, parameters, the error queue and the status bits.

Pure: it knows no pin and no line. A command is a pattern such as "MEASure:ARRay:RESistance[:LOW]?" and a
function that takes the parameters, as texts, and returns the answer's text or None.
"""

import answer

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

    Command = Callable[[list[str]], str | None]

LONGEST_QUEUE = 16
MOST_DIGITS = 32
HEXADECIMAL = "0123456789ABCDEF"
BASES = {"H": 16, "Q": 8, "B": 2}

NO_ERROR = 0
INVALID_CHARACTER = -101
DATA_TYPE = -104
NOT_ALLOWED = -108
MISSING = -109
UNDEFINED_HEADER = -113
OUT_OF_RANGE = -222
PARAMETER_VALUE = -224
PARAMETER_ERROR = -220
SELF_TEST_FAILED = -330
QUEUE_OVERFLOW = -350
BUFFER_OVERRUN = -363

TEXTS = {
    NO_ERROR: "No error",
    INVALID_CHARACTER: "Invalid character",
    DATA_TYPE: "Data type error",
    NOT_ALLOWED: "Parameter not allowed",
    MISSING: "Missing parameter",
    UNDEFINED_HEADER: "Undefined header",
    OUT_OF_RANGE: "Data out of range",
    PARAMETER_VALUE: "Illegal parameter value",
    PARAMETER_ERROR: "Parameter error",
    SELF_TEST_FAILED: "Self-test failed",
    QUEUE_OVERFLOW: "Queue overflow",
    BUFFER_OVERRUN: "Input buffer overrun",
}

OPERATION_COMPLETE = 1
QUERY_ERROR = 4
DEVICE_ERROR = 8
EXECUTION_ERROR = 16
COMMAND_ERROR = 32
POWER_ON = 128


class ScpiError(Exception):
    """A message that cannot be obeyed: its standard number, and what was found."""

    def __init__(self, number: int, found: str) -> None:
        super().__init__(number, found)
        self.number = number
        self.found = found


class Status:
    """The error queue and the event, enable and service registers."""

    def __init__(self) -> None:
        self.queue: list[tuple[int, str]] = []
        self.events = POWER_ON
        self.event_enable = 0
        self.service_enable = 0

    def clear(self) -> None:
        """*CLS: forget errors and events, keep the masks."""
        self.queue = []
        self.events = 0

    def add(self, number: int, found: str) -> None:
        """Queue an error and set its event bit; a full queue says so in its last place."""
        if number <= -400:
            self.events |= QUERY_ERROR
        elif number <= -300:
            self.events |= DEVICE_ERROR
        elif number <= -200:
            self.events |= EXECUTION_ERROR
        else:
            self.events |= COMMAND_ERROR
        if len(self.queue) < LONGEST_QUEUE:
            self.queue.append((number, found))
        else:
            self.queue[-1] = (QUEUE_OVERFLOW, "")

    def next_error(self) -> str:
        """Return the oldest error and forget it."""
        if not self.queue:
            return '0,"No error"'
        number, found = self.queue.pop(0)
        text = TEXTS[number]
        if found:
            text += ";" + found
        return '%d,"%s"' % (number, text)

    def take_events(self) -> int:
        """*ESR?: return the event bits and clear them."""
        events = self.events
        self.events = 0
        return events

    def byte(self) -> int:
        """*STB?: bit 2 errors are queued, bit 5 an enabled event stands, bit 6 service is wanted."""
        value = 4 if self.queue else 0
        if self.events & self.event_enable:
            value |= 32
        if value & self.service_enable & ~64:
            value |= 64
        return value


def nodes(pattern: str) -> list[tuple[str, str, bool]]:
    """Split a pattern into (short form, long form, may be left out), one for each node, without the query mark."""
    found = []
    optional = False
    for part in pattern.rstrip("?").replace("[:", ":[").split(":"):
        optional = part.startswith("[")
        word = part.strip("[]")
        short = "".join(letter for letter in word if not letter.islower())
        found.append((short, word.upper(), optional))
    return found


def fits(wanted: list[tuple[str, str, bool]], words: list[str]) -> bool:
    """Return whether header words fit a pattern's nodes, short or long form each."""
    at = 0
    for short, long, optional in wanted:
        if at < len(words) and words[at] in (short, long):
            at += 1
        elif not optional:
            return False
    return at == len(words)


def parts(message: str) -> list[str]:
    """Split a program message at its semicolons, quoted text left whole."""
    return [part.strip() for part in _split(message, ";")]


def parameters(text: str) -> list[str]:
    """Split what follows a header at its commas; "" gives none."""
    if not text:
        return []
    return [part.strip() for part in _split(text, ",")]


def _split(text: str, mark: str) -> list[str]:
    found = []
    start = 0
    quote = ""
    for at in range(len(text)):
        letter = text[at]
        if quote:
            if letter == quote:
                quote = ""
        elif letter in "\"'":
            quote = letter
        elif letter == mark:
            found.append(text[start:at])
            start = at + 1
    found.append(text[start:])
    return found


def integer(text: str, low: int, high: int) -> int:
    """Return a parameter as a whole number from low to high: #H, #Q, #B, or decimal, rounded (IEEE 488.2, 7.7)."""
    upper = text.upper()
    if upper[:1] == "#":
        base = BASES.get(upper[1:2], 0)
        digits = upper[2:]
        if not base or not _all_in(digits, HEXADECIMAL[:base]) or len(digits) > MOST_DIGITS:
            raise ScpiError(DATA_TYPE, text)
        value = int(digits, base)
    else:
        value = _decimal(upper, text)
    if not low <= value <= high:
        raise ScpiError(OUT_OF_RANGE, text)
    return value


def _decimal(upper: str, text: str) -> int:
    """Return a decimal number, with a point or an exponent or not, rounded half away from nothing."""
    mantissa, mark, power = upper.partition("E")
    negative = mantissa[:1] == "-"
    if mantissa[:1] in ("+", "-"):
        mantissa = mantissa[1:]
    whole, _, part = mantissa.partition(".")
    exponent = power[1:] if power[:1] in ("+", "-") else power
    if not _all_in(whole + part, HEXADECIMAL[:10]) or (mark and not _all_in(exponent, HEXADECIMAL[:10])):
        raise ScpiError(DATA_TYPE, text)
    if len(whole + part) > MOST_DIGITS or len(exponent) > 3:
        raise ScpiError(OUT_OF_RANGE, text)
    shift = int(power or "0") - len(part)
    value: int = int(whole + part)
    if shift > MOST_DIGITS and value:
        raise ScpiError(OUT_OF_RANGE, text)
    if shift >= 0:
        value *= 10 ** min(shift, MOST_DIGITS)
    else:
        scale: int = 10 ** min(-shift, 2 * MOST_DIGITS)
        value = (2 * value + scale) // (2 * scale)
    return -value if negative else value


def _all_in(text: str, letters: str) -> bool:
    return bool(text) and all(letter in letters for letter in text)


def is_check_value(text: str) -> bool:
    """Return whether a parameter is a CRC: "#H" and eight digits, capital letters."""
    return len(text) == 10 and text[:2] == "#H" and _all_in(text[2:], HEXADECIMAL)


class Parser:
    """The commands, and the way from a program message to its one answer line."""

    def __init__(self, status: Status) -> None:
        self.status = status
        self._commands: "list[tuple[bool, list[tuple[str, str, bool]], Command, int, int]]" = []

    def add(self, pattern: str, run: "Command", least: int, most: int) -> None:
        """Know one more command, with at least and at most so many parameters."""
        self._commands.append((pattern.endswith("?"), nodes(pattern), run, least, most))

    def obey(self, message: str) -> str:
        """Carry out a program message; return the answers of its queries joined by semicolons, "" for none."""
        answers: "list[str]" = []
        path: list[str] = []
        for part in parts(message):
            if not part:
                continue
            try:
                path = self._one(part, path, answers)
            except ScpiError as error:
                self.status.add(error.number, error.found[:40])
        return answers[0] if len(answers) == 1 else ";".join(answers)

    def _one(self, part: str, path: list[str], answers: list[str]) -> list[str]:
        for letter in part:
            if not " " <= letter <= "~" and letter != "\t":
                raise ScpiError(INVALID_CHARACTER, "code %d" % ord(letter))
        header = part.replace("\t", " ").split(" ", 1)
        rest = header[1].strip() if len(header) > 1 else ""
        name = header[0].upper()
        query = name.endswith("?")
        if query:
            name = name[:-1]
        if not name:
            raise ScpiError(UNDEFINED_HEADER, header[0])
        words = name.lstrip(":").split(":")
        found = None
        if path and name[0] not in ":*":
            found = self._find(query, path + words)
        if found:
            words = path + words
        else:
            found = self._find(query, words)
        if not found:
            raise ScpiError(UNDEFINED_HEADER, header[0])
        run, least, most = found
        given = parameters(rest)
        if len(given) > max(least, 1) and is_check_value(given[-1]):
            # A question may carry the CRC of all before its last comma, as the answers do.
            if answer.crc(part[: part.rindex(",")]) != given.pop():
                raise ScpiError(PARAMETER_ERROR, "checksum")
        if len(given) < least or "" in given:
            raise ScpiError(MISSING, header[0])
        if len(given) > most:
            raise ScpiError(NOT_ALLOWED, given[most])
        text = run(given)
        if text is not None:
            answers.append(text)
        return path if name[0] == "*" else words[:-1]

    def _find(self, query: bool, words: "list[str]") -> "tuple[Command, int, int] | None":
        for asks, wanted, run, least, most in self._commands:
            if asks == query and fits(wanted, words):
                return run, least, most
        return None
