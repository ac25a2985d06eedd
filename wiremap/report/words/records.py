"""Every sentence of records, pictures, sheets and labels, once: what was recorded, and what it does not prove."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from wiremap.cable.kinds import Kind
from wiremap.errors import spelled_out
from wiremap.judge.findings import Verdict
from wiremap.judge.remedy.service import Service
from wiremap.reading.reading import Origin
from wiremap.records.captures.capture import Job, Lot
from wiremap.records.captures.chain import BREAKS, ChainState
from wiremap.records.captures.check import CalibrationState, Checked, SignatureState, VerdictState
from wiremap.records.captures.photos import PhotoState
from wiremap.report.words.faults import VERDICT_WORDS, Ends, capital
from wiremap.report.words.origin import FLAGS, SIMULATED_NO_PROOF, verdict_word
from wiremap.report.words.services import ANSWERS, service_said

FACE = "contacts up, cable towards you"
IN_ORDER = "contacts in number order"
NOTHING_HERE = "-"
NOT_KNOWN = "?"
KIND_TOLD = "kind told"
MARK_KEYS = {"wrong": "Dark: wrong in that plug.", "either": "Framed: one of the two plugs is wrong there."}
JOINED_TO = "joined to"
WRONG_MARK = "✕"
TICKED, NOT_TICKED = "☒", "☐"
SIGNS = {"pass": "✓", "fail": "✕", "undecided": "?"}

SHEET = "Cable test sheet"
LENGTHS, LENGTHS_IF_DRY = "Length (95 % interval)", "Length if dry (95 % interval)"
SERVICES = "As it is it would carry"
CHECKED = "Checked"
NOT_CHECKED = "Not checked"
WORK = "Work list"
WORK_CLAIM = "The technician's word, not measured."
RECORD = "Record"
LONG_FACTS = ("Note", "Photos")  # said across the page, below the others
CODE_SENTENCE = (
    "The square code holds the digest above, in capitals: 64 digits that change with any letter of the record "
    "(SHA-256). To check, ask for the record, a file ending in .json: `head -n 1 FILE | sha256sum` prints the same "
    "digits, and `wiremap verify FILE` also checks the signature and judges the reading again."
)
CLAIM_TITLE = "What this sheet says, and what not"
CAUTION_TITLE = "Caution"
CLAIM = (
    "A shop test with a tester made on the bench: it says what was checked, when, and within the limits kept in the "
    "record. It is not a field test to a cabling standard and does not replace one, nor a licensed practitioner."
)
CLAIM_BY_EYE = (
    "Colours were read through both plugs; it says what they show. Nothing was measured, so it says nothing of what "
    "conducts. It replaces no test with a tester, no field test to a cabling standard, and no licensed practitioner."
)
CHECKED_BY_EYE = "Which conductor sits in which contact, by the colours read."
SEAL_CLAIM = (
    "The digest shows whether a byte of the record was changed; a signature shows who kept the key; neither shows that "
    "the tester was honest."
)
CAUTION = (
    "Before this cable is tested, cut or crimped: power off, both ends unplugged. Power over Ethernet is up to 57 V "
    "d.c.; passive injectors do not ask first. Antennas that transmit: off and locked out before anyone works in "
    "front of or above them. Local codes and licensed practice come first."
)
NO_LENGTH = "Not measured."


def heading(job: Job) -> tuple[str, str]:
    """Return the cable's label and where it is, for the head of a sheet."""
    place = ", ".join(text for text in (job.vessel, job.site) if text)
    return job.cable or "Cable without a label", place


def ends_phrase(ends: Ends, expect: str | None, kind: str, by_eye: bool = False) -> str:
    """Return what was tested, or by eye only looked at, between which ends."""
    wanted = f"{'looked at' if by_eye else 'tested'} as {expect}" if expect else "no pattern was asked for"
    return f"{capital(ends.near)} to {ends.far}, {kind + ', ' if kind else ''}{wanted}"


def made_line(made_utc: str, utc_offset_min: int) -> str:
    """Return when, as clocks there showed it, and in UTC: "2026-03-01 10:30 (UTC+02:00), 08:30 UTC"."""
    utc = datetime.strptime(made_utc, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
    zone = timezone(timedelta(minutes=utc_offset_min))
    return f"{utc.astimezone(zone):%Y-%m-%d %H:%M} ({zone.tzname(None)}); {utc:%Y-%m-%d %H:%M:%S} UTC"


def tester_phrase(maker: str, model: str, serial: str, firmware: str) -> str:
    """Return the tester's identity."""
    return f"{maker} {model}, serial {serial}, firmware {firmware}"


NO_TESTER = "not recorded"
NONE_BY_EYE = "none"
CALIBRATIONS = {
    "none": "no calibration recorded",
    "in-date": "calibrated {day}, in date",
    "old": "calibrated {day}, over a year before",
    "other-tester": "the calibration is another tester's",
    "later": "calibrated {day}, after the test",
}


def new_plug(end: str, ends: Ends) -> str:
    """Return at which end the technician put a new plug on, "" where nobody said."""
    return {"near": ends.near, "far": ends.far, "both": f"{ends.near} and {ends.far}"}.get(end, "")


def label_verdict(verdict: Verdict, flag: str, danger: bool, made_utc: str) -> str:
    """Return a label's verdict with its day; what no tester measured never says PASS."""
    words = [flag, "" if flag and verdict == "pass" else VERDICT_WORDS[verdict], "NO PoE" if danger else ""]
    return f"{', '.join(word for word in words if word)} {made_utc[:10]}"


def label_run(ends: Ends, has_far: bool, expect: str | None, length: Mapping[str, Any] | None) -> str:
    """Return a label's ends, pattern and length."""
    run = f"{ends.near} - {ends.far}" if has_far else ends.near
    return ", ".join([run, expect or "no pattern", *([f"{length['length_m']:.1f} m"] if length else [])])


def label_record(new_plug_at: str, digits: str) -> str:
    """Return which plug is new, and the beginning of the record's digest, in groups of four."""
    groups = " ".join(digits[at : at + 4] for at in range(0, 12, 4))
    return f"new plug {new_plug_at}, {groups}" if new_plug_at else f"record {groups}"


def lot_phrase(lot: Lot) -> str:
    """Return which capture of a lot it is."""
    return f"{lot.name}, number {lot.number}"


def as_found(made_utc: str, utc_offset_min: int, word: str, wrong: str) -> str:
    """Return what a cable was before it was mended, from its own record: when, verdict, what was wrong."""
    return f"As found {made_line(made_utc, utc_offset_min).partition(';')[0]}: {word}. {wrong}"


def follows_phrase(digest: str | None) -> str:
    """Return which test a capture repeats, "" = none."""
    return "" if digest is None else f"repeats the test {digest[:15]}…, whose verdict stays in its own record"


def adds_phrase(digest: str, is_sure: bool) -> str:
    """Return which record a capture adds to; is_sure: that one is at hand, else it may be of an earlier test."""
    return f"{'adds to' if is_sure else 'follows'} the record {digest[:15]}…, which stays as it is"


def key_phrase(key: str | None) -> str:
    """Return who signed, as the key in groups of four."""
    return "not signed" if key is None else " ".join(key[i : i + 4] for i in range(0, len(key), 4))


def kind_told(kind: Kind) -> str:
    """Return the kind of cable that somebody named, and whose figures those of it are where they are a user's own."""
    return f"{kind.name}, {kind.title}" + (f", by {kind.of}" if kind.of else "")


def length_name(item: Mapping[str, Any]) -> str:
    """Return what a length is of, and by which method."""
    pair = item.get("pair")
    name = f"Pair {'-'.join(map(str, pair))}" if isinstance(pair, list) else "Cable"
    method = str(item.get("method", ""))
    return name if method in ("", "fused") else f"{name}, {method}"


def length_value(item: Mapping[str, Any]) -> str:
    """Return a length with its 95 % interval: "12.3 m (11.9 to 12.7)"."""
    return f"{item['length_m']:.1f} m ({item['low_m']:.1f} to {item['high_m']:.1f})"


def service_value(service: Service) -> str:
    """Return whether a service would run on the cable as it is, and why not."""
    why = service_said(service)
    return f"{ANSWERS[service.answer]}; {why}" if why else ANSWERS[service.answer]


def page_of(number: int, count: int, label: str) -> str:
    """Return what stands at the foot of a page that is not the only one."""
    return f"{label}, page {number} of {count}"


DIGEST_CHANGED = "the record was changed after it was written"
SIGNATURES: dict[SignatureState, str] = {
    "none": "not signed",
    "known": "signed with the key '{signer}'",
    "unknown": "signed with a key not known here",
    "wrong": "the signature does not fit the record",
}
CHAINS: dict[ChainState, str] = {
    "single": "in no lot",
    "alone": "the capture before it was not given",
    "holds": "chain holds",
    "before-missing": "the capture before it is missing",
    "before-twice": "another capture stands in the same place of the lot",
    "number-wrong": "its number does not follow the capture before it",
    "not-signed": "it is not signed, though others of its lot are",
    "out-of-order": "chain holds; by its clock it is older than the capture before it",
    "copy": "a copy of another file given",
}
VERDICTS_AGAIN: dict[VerdictState, str] = {
    "same": "{then} again from the reading",
    "verdict-differs": "recorded as {then}, but {now} from the reading",
    "findings-differ": "{then}, but other faults from the reading than recorded",
    "other-rules": "recorded as {then} by rules number {number}; by today's rules: {now}{also}",
    "cannot-be-judged": "its reading cannot be judged as it says",
}
VERIFY_CALIBRATIONS: dict[CalibrationState, str] = {
    "none": "no calibration of the tester",
    "in-date": "calibration in date",
    "old": "calibration over a year old",
    "other-tester": "calibration of another tester",
    "later": "calibration made after the test",
}
PHOTO_PROBLEMS: dict[PhotoState, str] = {
    "changed": "the photo {file} was changed after it was recorded",
    "unreadable": "the photo {file} cannot be read",
    "no-name": "what it calls a photo, {file}, is no name of a file",
}
PHOTO_NOT_THERE = "the photo {file} is not beside it"
OWN_LIMITS = "limits other than those that ship"
AHEAD = "by this machine's clock it was made in the future"
MUST_BE_SIGNED = "no signature of a key that is trusted"
SOUND, NOT_SOUND = "SOUND", "NOT SOUND"
VERIFY_CLAIM = (
    SEAL_CLAIM + " What is cut off the end of a lot and of its ledger alike shows only where the lot was closed."
)


def verified(
    found: Checked, chain: ChainState, must_be_signed: bool, now_utc: str | None = None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what is wrong with a capture, and what else there is to say of it.

    now_utc: "YYYY-MM-DDTHH:MM:SSZ", None = whether it was made in the future is not asked; clocks go wrong, so that is
    no fault of the capture.
    """
    if not found.digest_holds:
        return (DIGEST_CHANGED,), ()
    problems: list[str] = []
    flag = SIMULATED_NO_PROOF if found.origin == "simulator" else FLAGS[found.origin]
    notes: list[str] = [flag] if flag else []
    signature = SIGNATURES[found.signature].format(signer=found.signer)
    (problems if found.signature == "wrong" else notes).append(signature)
    if must_be_signed and found.signature in ("none", "unknown"):
        problems.append(MUST_BE_SIGNED)
    (problems if chain in BREAKS else notes).append(CHAINS[chain])
    verdict = _verdict_again(found)
    (notes if found.verdict in ("same", "other-rules") else problems).append(verdict)
    notes.append(VERIFY_CALIBRATIONS[found.calibration])
    if found.own_limits:
        notes.append(OWN_LIMITS)
    if None not in (now_utc, found.made_utc) and str(found.made_utc) > str(now_utc):
        notes.append(AHEAD)
    problems += [PHOTO_PROBLEMS[state].format(file=file) for file, state in found.photos if state in PHOTO_PROBLEMS]
    return tuple(problems), (*notes, *_photo_notes(found))


def _photo_notes(found: Checked) -> list[str]:
    """Return how many photos are as they were recorded, and which are not there to be looked at."""
    sound = sum(state == "as-recorded" for _, state in found.photos)
    said = [f"{sound} photo{'s' if sound != 1 else ''} as recorded"] if sound else []
    return said + [PHOTO_NOT_THERE.format(file=file) for file, state in found.photos if state == "not-there"]


def _verdict_again(found: Checked) -> str:
    then, now = (_word(verdict, found.origin) for verdict in (found.verdict_then, found.verdict_now))
    also = ", with other faults" if found.verdict_then == found.verdict_now else ""
    return VERDICTS_AGAIN[found.verdict].format(number=found.judging, then=then, now=now, also=also)


def _word(verdict: str | None, origin: Origin) -> str:
    return next((verdict_word(known, origin) for known in VERDICT_WORDS if known == verdict), "nothing")


def verify_line(source: str, problems: Sequence[str], notes: Sequence[str]) -> str:
    """Return one line of a capture that was verified."""
    named = spelled_out(source, lines=False)
    return f"{NOT_SOUND if problems else SOUND:<9}  {named}  {'; '.join((*problems, *notes))}"


def verify_summary(counts: Mapping[str, int]) -> str:
    """Return how many captures are how."""
    return ", ".join(f"{count} {word.replace('_', ' ')}" for word, count in counts.items() if count)
