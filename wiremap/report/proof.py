"""A capture as texts: everything that a sheet, a label and a phone page say of it."""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from wiremap.judge.case import Case
from wiremap.records.captures.capture import Capture
from wiremap.records.captures.check import calibration_state
from wiremap.report.words import records as wording
from wiremap.report.words.cases import dangers, ends_of, said_on_paper
from wiremap.report.words.checks import checked, checked_sentence, not_checked_sentence
from wiremap.report.words.origin import FLAGS, ORIGINS, how_read, verdict_word
from wiremap.report.words.services import spoken

LABEL_DIGITS = 20


class Proof(Struct, frozen=True):
    """A capture, and the cable in it judged again.

    before: of the cable before it was mended, None = not at hand. adds: whether the record that it follows is of the
    same test, None = that is not at hand.
    """

    case: Case
    capture: Capture
    before: "Proof | None" = None
    adds: bool | None = None

    @property
    def word(self) -> str:
        """Return the verdict's word."""
        return verdict_word(self.case.diagnosis.verdict, self.case.reading.origin)

    @property
    def sign(self) -> str:
        """Return the verdict's sign, which says the same without colour."""
        return wording.SIGNS[self.case.diagnosis.verdict]

    @property
    def label(self) -> str:
        """Return what the cable is called."""
        return wording.heading(self.capture.record.job)[0]

    @property
    def as_found(self) -> str:
        """Return what the cable was before it was mended, "" where that is not at hand."""
        if self.before is None:
            return ""
        record = self.before.capture.record
        word = " ".join(part for part in (self.before.word, self.before.flag) if part)
        return wording.as_found(record.made_utc, record.utc_offset_min, word, said_on_paper(self.before.case))

    @property
    def place(self) -> str:
        """Return the vessel and the site, "" where nobody said."""
        return wording.heading(self.capture.record.job)[1]

    @property
    def about(self) -> str:
        """Return which ends, and against what it was tested."""
        case = self.case
        plugs = [case.pattern.near_connector, case.pattern.far_connector] if case.pattern else []
        kind = " to ".join(dict.fromkeys(plug.title for plug in plugs if plug))
        return wording.ends_phrase(ends_of(case), case.diagnosis.expect, kind, self.by_eye)

    @property
    def by_eye(self) -> bool:
        """Whether plugs were looked into, and nothing was measured."""
        return self.case.reading.origin == "eyes"

    @property
    def claim(self) -> str:
        """Return what it says, and what it does not."""
        return wording.CLAIM_BY_EYE if self.by_eye else wording.CLAIM

    @property
    def flag(self) -> str:
        """Return what must be seen at once of where the reading comes from, "" where a tester measured it."""
        return FLAGS[self.case.reading.origin]

    @property
    def origin(self) -> str:
        """Return where the reading comes from."""
        return " ".join(text for text in (ORIGINS[self.case.reading.origin], how_read(self.case.reading, "")) if text)

    @property
    def dangers(self) -> tuple[str, ...]:
        """Return what must not be connected to the cable, to stand first; () = nothing."""
        return dangers(self.case)

    def checked(self) -> str:
        """Return what was checked."""
        if self.by_eye:
            return wording.CHECKED_BY_EYE
        return checked_sentence(checked(self.case.reading, self.case.diagnosis.not_checked, self._said()))

    def not_checked(self) -> str:
        """Return what was not checked and why, and what a test of this kind never shows."""
        return not_checked_sentence(self.case.diagnosis.not_checked)

    @property
    def lengths_title(self) -> str:
        """Return what stands over the lengths: where no echo came from the end they hold for a dry cable alone."""
        rows = _rows(self._plain(), "lengths", ("length_m",))
        echoed = any(item.get("method") == "echo" and item.get("pair") is None for item in rows)
        return wording.LENGTHS_IF_DRY if rows and not echoed else wording.LENGTHS

    def lengths(self) -> tuple[tuple[str, str], ...]:
        """Return (pair or cable, length with its interval), as the record has them, and the kind that was told last.

        Of lengths by several methods those fused from all of them; where none is, each with its method.
        """
        told = self.case.requirements.kind
        kind = ((wording.KIND_TOLD, wording.kind_told(told)),) if told is not None else ()
        return (*((wording.length_name(item), wording.length_value(item)) for item in self._lengths()), *kind)

    def _lengths(self) -> list[Mapping[str, Any]]:
        rows = _rows(self._plain(), "lengths", ("length_m", "low_m", "high_m"))
        return [item for item in rows if item.get("method") == "fused"] or rows

    def services(self) -> tuple[tuple[str, str], ...]:
        """Return (service, whether it would run, and why not)."""
        return tuple((service.name, wording.service_value(service)) for service in self.case.advice.services)

    def carried(self) -> tuple[str, ...]:
        """Return in a few sentences what would run on the cable as it is, worst first."""
        return spoken(self.case.advice.services)

    def label_lines(self) -> tuple[str, ...]:
        """Return what a label says besides the cable's name: three short lines, the verdict first."""
        job, names = self.capture.record.job, ends_of(self.case)
        length = next((item for item in self._lengths() if item.get("pair") is None), None)
        return (
            wording.label_verdict(
                self.case.diagnosis.verdict, self.flag, bool(self.dangers), self.capture.record.made_utc
            ),
            wording.label_run(names, self._has_far(), self.case.diagnosis.expect, length),
            wording.label_record(wording.new_plug(job.re_terminated, names), self.short_code),
        )

    def _has_far(self) -> bool:
        return self.case.pattern is None or self.case.pattern.far_connector is not None

    def facts(self) -> tuple[tuple[str, str], ...]:
        """Return who, when and with what: (name, text)."""
        record = self.capture.record
        tester, calibration = self.case.reading.tester, self.case.reading.calibration
        identity = wording.NONE_BY_EYE if self.by_eye else wording.NO_TESTER
        if tester is not None:
            identity = wording.tester_phrase(tester.maker, tester.model, tester.serial, tester.firmware)
            day = calibration.made_utc[:10] if calibration else ""
            state = calibration_state(self.case.reading, record.made_utc)
            identity += "; " + wording.CALIBRATIONS[state].format(day=day)
        rows = [
            ("When", wording.made_line(record.made_utc, record.utc_offset_min)),
            ("Who", record.job.who),
            ("Origin", self.origin),
            ("Tester", identity),
            ("Software", record.software),
            ("New plug", wording.new_plug(record.job.re_terminated, ends_of(self.case))),
            ("Lot", wording.lot_phrase(record.lot) if record.lot else ""),
            self._follows(),
            ("Note", record.job.note),
            (
                "Photos",
                ", ".join(f"{photo.file} ({photo.digest.removeprefix('sha256:')[:8]})" for photo in record.job.photos),
            ),
        ]
        return tuple((name, text) for name, text in rows if text)

    def _follows(self) -> tuple[str, str]:
        """Return what the record follows: a test that it repeats, as in a lot, or one that it adds to."""
        record = self.capture.record
        if record.follows is None or record.lot is not None or self.adds is False:
            return "Tested again", wording.follows_phrase(record.follows)
        return "Follows", wording.adds_phrase(record.follows, bool(self.adds))

    def work(self) -> tuple[tuple[str, str], ...]:
        """Return the work list: (ticked or not, text)."""
        return tuple(
            (wording.TICKED if item.done else wording.NOT_TICKED, item.item) for item in self.capture.record.work
        )

    @property
    def digest(self) -> str:
        """Return the record's digest."""
        return self.capture.digest

    @property
    def key(self) -> str:
        """Return the key that signed, in groups of four, or that none did."""
        return wording.key_phrase(self.capture.seal.key)

    @property
    def code(self) -> str:
        """Return the digest as a QR code holds it in few modules: capitals, which mean the same."""
        return self.digest.upper()

    @property
    def short_code(self) -> str:
        """Return the first digits of the digest, for a label's QR code."""
        return self.digest.removeprefix("sha256:")[:LABEL_DIGITS].upper()

    def _said(self) -> list[str]:
        """Return what the record's own diagnosis has something of."""
        return [name for name, value in self._plain().items() if value]

    def _plain(self) -> Mapping[str, Any]:
        return self.capture.record.diagnosis


def _rows(plain: Mapping[str, Any], name: str, numbers: tuple[str, ...]) -> list[Mapping[str, Any]]:
    found = plain.get(name)
    return [
        item
        for item in (found if isinstance(found, list) else [])
        if isinstance(item, dict) and all(isinstance(item.get(key), int | float) for key in numbers)
    ]
