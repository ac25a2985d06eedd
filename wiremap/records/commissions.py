"""What was found of testers when they were commissioned: a record each beside the calibrations, with its digest.

What goes on is kept in a file of its own, so that the last finished record holds until the next one is finished.
"""

import hashlib
import re
from pathlib import Path
from typing import Literal

import msgspec

from wiremap.errors import FileError, TesterError
from wiremap.judge.findings import Verdict
from wiremap.ranges import check_moment, check_text
from wiremap.reading.parts import Tester
from wiremap.records.canonical import encode
from wiremap.records.home import home
from wiremap.records.new_file import as_file_error
from wiremap.records.state_file import read_state, write_state

FORMAT = 1
LARGEST_COMMISSION_BYTES = 1_000_000
HINT = "Move the file away and commission the tester again (`wiremap commission`)."
BoardKind = Literal["bench", "bare-clamped", "bare"]
BOARD_KINDS: tuple[BoardKind, ...] = ("bench", "bare-clamped", "bare")
FoundHow = Literal["typed", "measured", "not-measured"]
Amount = float | Literal["open"]


STANDINGS: dict[Verdict, str] = {
    "pass": "commissioned",
    "fail": "FAILED its commissioning",
    "undecided": "its commissioning is not proven",
}


class Figure(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One figure that was found, with the limits it was held against, both included.

    amount: in `unit`; "open" = beyond what a meter shows, which keeps any limit but an upper one. low, high: None = no
    limit.
    """

    name: str
    unit: str
    amount: Amount
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        """Check the texts; FileError names the place."""
        check_text("figure: name", self.name)
        check_text("figure: unit", self.unit)

    @property
    def holds(self) -> bool:
        """Whether it lies within its limits."""
        if self.amount == "open":
            return self.high is None
        amount = float(self.amount)
        return (self.low is None or amount >= self.low) and (self.high is None or amount <= self.high)


class Found(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a step found. how: "not-measured" has no figures. repair: what to do where a figure does not hold."""

    step: str
    title: str
    how: FoundHow
    at_utc: str
    figures: tuple[Figure, ...] = ()
    repair: str = ""

    def __post_init__(self) -> None:
        """Check texts and time; FileError names the place."""
        for text in (self.step, self.title):
            check_text("step", text)
        check_text("step: repair", self.repair, 400)
        check_moment("step: at_utc", self.at_utc)
        if (self.how == "not-measured") != (not self.figures):
            raise FileError(f"the step {self.step} is {self.how} and has {len(self.figures)} figures", HINT)

    @property
    def wrong(self) -> tuple[Figure, ...]:
        """Return the figures that do not hold."""
        return tuple(figure for figure in self.figures if not figure.holds)


class Commission(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What was found of one board, in the order of its steps. model, serial, firmware: "" until it answered.

    simulated: whether a simulator answered. over: all steps were gone through, or one failed.
    """

    board: BoardKind
    model: str = ""
    serial: str = ""
    firmware: str = ""
    simulated: bool = False
    found: tuple[Found, ...] = ()
    over: bool = False

    @property
    def failed(self) -> Found | None:
        """Return the step with a figure that does not hold; None where all do."""
        return next((found for found in self.found if found.wrong), None)

    @property
    def missing(self) -> tuple[Found, ...]:
        """Return the steps that were not measured."""
        return tuple(found for found in self.found if found.how == "not-measured")

    @property
    def judged(self) -> Verdict:
        """Return the verdict: "undecided" while it is not over, and where something was not measured."""
        if self.failed is not None:
            return "fail"
        return "pass" if self.over and not self.missing else "undecided"


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The record with its format and the SHA-256 of its canonical JSON."""

    format: int
    digest: str
    commission: Commission


def commission_path(model: str, serial: str) -> Path:
    """Return where the record of a tester is kept, by model and serial number."""
    return _folder() / f"{_name(f'{model}-{serial}')}.json"


def going_path(*names: str) -> Path:
    """Return where one that is not over is kept: by model and serial number, before that by the kind of board."""
    return _folder() / "going" / f"{_name('-'.join(names))}.json"


def _folder() -> Path:
    return home() / "commissioning"


def _name(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9.-]", "_", text).strip(".") or "_"


def read_commission(path: Path) -> Commission | None:
    """Return the record that is kept there, None where there is none; FileError where it is not as it was written."""
    file = read_state(path, _File, FORMAT, LARGEST_COMMISSION_BYTES, HINT)
    if file is None:
        return None
    if file.digest != _digest(file.commission):
        raise FileError(f"{path}: was changed after it was written (its digest does not fit)", HINT)
    return file.commission


def write_commission(path: Path, commission: Commission) -> None:
    """Keep a record; when this returns it is on the disk, whole. FileError where it cannot be written."""
    write_state(path, _File(FORMAT, _digest(commission), commission))


def forget_going(path: Path) -> None:
    """Drop a commissioning that is not over."""
    with as_file_error(path):
        path.unlink(missing_ok=True)


def commission_of(tester: Tester) -> Commission | None:
    """Return what was found of a tester, None = it was never commissioned; FileError where its record is no good."""
    path = commission_path(tester.model, tester.serial)
    found = read_commission(path)
    if found is not None and (found.model, found.serial) != (tester.model, tester.serial):
        raise FileError(f"{path}: is of the tester {found.serial!r}, not {tester.serial!r}", HINT)
    return found


def refuse_failed(tester: Tester) -> None:
    """Refuse a tester that failed when it was commissioned: TesterError says at which step, and what to do.

    A tester without a record, and one of which something was not measured, is used as it is.
    """
    record = commission_of(tester)
    failed = record.failed if record is not None else None
    if failed is None:
        return
    said = "; ".join(figure_said(figure) for figure in failed.wrong)
    raise TesterError(
        f"this tester ({tester.model}, serial {tester.serial}) failed its commissioning on {failed.at_utc[:10]}, "
        f"at '{failed.title}': {said}",
        f"{failed.repair} Then go through `wiremap commission` again: until it holds, this tester measures nothing. "
        f"The record is {commission_path(tester.model, tester.serial)}"
        + ("; of a simulated tester it may be moved away." if record is not None and record.simulated else "."),
    )


def figure_said(figure: Figure) -> str:
    """Return a figure in words: its name, its amount, and what is allowed."""
    return f"{figure.name} {amount_said(figure.amount, figure.unit)}, allowed {limits_said(figure)}"


def limits_said(figure: Figure) -> str:
    """Return the limits of a figure in words."""
    low, high = (None if edge is None else amount_said(edge, figure.unit) for edge in (figure.low, figure.high))
    if low is not None and high is not None:
        return low if low == high else f"{low} to {high}"
    return f"at most {high}" if high is not None else f"at least {low}" if low is not None else "anything"


_PREFIXES = ((1e6, "M"), (1e3, "k"))


def amount_said(amount: Amount, unit: str) -> str:
    """Return an amount with its unit, four digits: "3.33 kohm", "838 ohm", "open"."""
    if amount == "open":
        return "open"
    value = float(amount)
    if unit == "ohm":
        scale, prefix = next(((scale, prefix) for scale, prefix in _PREFIXES if abs(value) >= scale), (1.0, ""))
        return f"{value / scale:.4g} {prefix}{unit}"
    return f"{value:.4g} {unit}".rstrip()


def _digest(commission: Commission) -> str:
    return "sha256:" + hashlib.sha256(encode(msgspec.to_builtins(commission))).hexdigest()
