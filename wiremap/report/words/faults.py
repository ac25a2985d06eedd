"""Every sentence that is said of a cable, once: what is wrong, what was not checked, what to do next.

Contacts are named as the job names its ends ("helm 3"); nothing here claims more than a finding does.
"""

from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.patterns import Pattern
from wiremap.judge.findings import MEANWHILE, ONE_OF, Check, Fault, Finding, NotChecked, Place, Reason, Verdict
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.nearest import Nearest
from wiremap.judge.wiring.terminators import Terminators
from wiremap.report.words.terminators import terminators_line, terminators_said, terminators_sentence

VERDICT_WORDS: dict[Verdict, str] = {"pass": "PASS", "fail": "FAIL", "undecided": "UNDECIDED"}

MOST_URGENT_FIRST: tuple[Fault, ...] = (
    "foreign-voltage",
    "equipment-attached",
    "short",
    "screen-short",
    "open",
    "crossed-pairs",
    "reversed-pair",
    "miswire",
    "split-pair",
    "split-section",
    "intermittent",
    "contact-film",
    "wet-or-wrong-cable",
    "leakage",
    "high-resistance",
    "screen-open",
    "conductor-metal",
    "resistance-unbalance",
    "terminators",
    "too-long",
    "too-short",
)

SAID_TOGETHER: tuple[Fault, ...] = ("open", "high-resistance", "contact-film", "foreign-voltage", "leakage")

CHECK_WORDS: dict[Check, str] = {
    "continuity": "continuity",
    "opens": "opens",
    "shorts": "shorts",
    "screen": "screen",
    "resistance": "resistance",
    "resistance-unbalance": "resistance unbalance",
    "split-pairs": "split pairs",
    "length": "length",
    "capacitance": "capacitance",
    "contact-film": "contact film",
    "leakage": "leakage",
    "foreign-voltage": "foreign voltage",
    "intermittent": "moving the cable",
    "terminators": "terminators",
}

REASON_WORDS: dict[Reason, str] = {
    "not-asked": "nothing was asked of it",
    "not-measured": "not in this reading",
    "tester-cannot": "this tester cannot",
    "no-expectation": "no pattern was given",
    "far-end-open": "the far plug was in nothing",
    "far-end-plugged": "the far plug must be in nothing for that",
    "far-remote": "a remote cannot show it",
    "far-joined": "a plug that joins all contacts cannot show it",
    "far-equipment": "equipment at the far end hides it",
    "set-up": "the far plug is not in what was said",
    "remote-unsure": "too few conductors get through to the remote",
    "resolution": "finer than this tester resolves",
    "no-pairs": "the conductors lie side by side: this cable has no twisted pairs",
    "too-short": "the cable is too short for it",
    "unsteady": "a contact came and went meanwhile",
    "leakage": "something conducts between the contacts",
    "faults": "not before the faults are gone",
    "continuity-only": "the reading says joined or open, not ohms",
    "near-far-only": "the reading has near to far only",
    "terminated": "without ohms a terminator looks like a short",
    "volts-only": "this tester surely sees 6 V and more only",
    "seen-only": "seen, not measured",
    "colours-unsure": "colours are missing, or look alike",
    "which-end": "not known at which end it is joined",
}


class Ends(Struct, frozen=True):
    """What the job calls the two ends, and which contact is the screen's at each, None = none."""

    near: str = "near"
    far: str = "far"
    near_screen: str | None = "S"
    far_screen: str | None = "S"

    def at(self, end: Place | None) -> str:
        """Return where that is: "at the helm end", "in the cable itself", or nothing."""
        if end is None:
            return ""
        return "in the cable itself" if end == "run" else f"at the {getattr(self, end)} end"


def listed(words: Iterable[str], last: str = "and") -> str:
    """Return "1", "1 and 2", "1, 2 and 3"."""
    *others, final = words
    return f"{', '.join(others)} {last} {final}" if others else final


def how_many(count: int, word: str) -> str:
    """Return "1 test", "2 tests"."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def capital(sentence: str) -> str:
    """Return the sentence with its first letter large."""
    return sentence[:1].upper() + sentence[1:]


def amount(value: float, unit: str) -> str:
    """Return a number as it is read aloud: three digits at most, kohm and Mohm where they fit."""
    for limit, factor, larger in ((1e6, 1e6, "M"), (1e3, 1e3, "k")):
        if unit == "ohm" and abs(value) >= limit:
            return f"{value / factor:.3g} {larger}ohm"
    if unit == "ohm" and abs(value) >= 100:
        return f"{value:.0f} {unit}"
    return f"{value:.3g} {unit}".strip()


def contacts_named(near: Sequence[str], far: Sequence[str], ends: Ends) -> str:
    """Return contacts as a phrase: "contact 3" where both ends have the same, else "helm 3 and mast 1"."""
    if near and tuple(near) == tuple(far):
        conductors = [name for name in near if name != ends.near_screen]
        phrase = [("contact " if len(conductors) == 1 else "contacts ") + listed(conductors)] if conductors else []
        return " and ".join(phrase + (["the screen"] if len(conductors) < len(near) else []))
    parts = []
    for name, screen, group in ((ends.near, ends.near_screen, near), (ends.far, ends.far_screen, far)):
        if group:
            parts.append(f"{name} " + listed("screen" if contact == screen else contact for contact in group))
    return " and ".join(parts)


def pairs_of(finding: Finding, pattern: Pattern | None) -> tuple[str, ...]:
    """Return the near pairs that a finding concerns, as "3-6"; the bare contacts where no pattern is known."""
    known = pattern.near_pairs if pattern else ()
    pairs = tuple("-".join(pair) for pair in known if set(pair) <= set(finding.near))
    return pairs or (("-".join(finding.near or finding.far),) if finding.near or finding.far else ())


def _verb(finding: Finding) -> str:
    same = finding.near == finding.far
    return "is" if len(finding.near if same else finding.near + finding.far) <= 1 else "are"


def _pair_phrase(finding: Finding, pattern: Pattern | None) -> str:
    pairs = pairs_of(finding, pattern)
    if not pairs:
        return "a pair"
    return f"pair {pairs[0]}" if len(pairs) == 1 else f"pairs {listed(pairs)}"


def amount_found(finding: Finding) -> str:
    """Return what was measured in words, "" where nothing was; a voltage beyond what the board shows is "or more"."""
    if finding.unit == "V" and finding.low is not None:
        return f"{amount(finding.low, finding.unit)} or more"
    return "" if finding.value is None else amount(finding.value, finding.unit or "")


def _measured(finding: Finding) -> str:
    limited = finding.value is not None and finding.limit is not None and finding.unit != "V"
    limit = f", limit {amount(finding.limit or 0.0, finding.unit or '')}" if limited else ""
    return f"{amount_found(finding)}{limit}"


def _bare(finding: Finding, ends: Ends, pattern: Pattern | None) -> str:
    """Return what a finding says, without its place: of where conductors go, or of what was measured of them."""
    where = _of_the_wiring(finding, ends, pattern)
    return _of_the_run(finding, ends, pattern) if where is None else where


def _of_the_wiring(finding: Finding, ends: Ends, pattern: Pattern | None) -> str | None:
    """Return what is said of a fault of continuity or order, None for any other."""
    who = contacts_named(finding.near, finding.far, ends) or "the cable"
    pair = _pair_phrase(finding, pattern)
    is_pair = "are" if pair.startswith("pairs") else "is"
    match finding.fault:
        case "open" if finding.detail == ONE_OF:
            return f"one of {who}, or both, is open"
        case "open":
            return f"{who} {_verb(finding)} open"
        case "short":
            return f"{who} are shorted together"
        case "screen-open":
            return "the screen is open"
        case "screen-short":
            return _screen_short(finding, ends)
        case "reversed-pair":
            return f"{pair} {is_pair} reversed"
        case "crossed-pairs":
            also = ", and polarity is exchanged as well" if finding.polarity_exchanged else ""
            return f"{pair} {is_pair} crossed{also}"
        case "miswire":
            return _miswire(finding, ends)
        case "split-section":
            return f"{pair} {is_pair} split along {_metres(finding)} of the run: the twisted pairs are mixed up there"
        case "split-pair" if not finding.far:
            return f"{pair} {is_pair} split: conductors that are not twisted together"
        case "split-pair":
            return f"{pair} {is_pair} split: contact to contact it is right, but the twisted pairs are mixed up"
        case _:
            return None


def _metres(finding: Finding) -> str:
    value, low, high = (finding.value or 0.0, finding.low or 0.0, finding.high or 0.0)
    return f"{value:.1f} m ({low:.1f} to {high:.1f})"


def _screen_short(finding: Finding, ends: Ends) -> str:
    near = [contact for contact in finding.near if contact != ends.near_screen]
    far = [contact for contact in finding.far if contact != ends.far_screen]
    touching = contacts_named(near, far, ends)
    is_many = "are" if len(near if near == far else near + far) > 1 else "is"
    return f"{touching} {is_many} shorted to the screen" if touching else "the screen is shorted"


def _miswire(finding: Finding, ends: Ends) -> str:
    if len(finding.near) == 2 and set(finding.near) == set(finding.far):
        return f"contacts {listed(finding.near)} are exchanged"
    if len(finding.near) == 1 == len(finding.far):
        return f"{ends.near} {finding.near[0]} arrives at {ends.far} {finding.far[0]}"
    if not finding.near or not finding.far:
        return "conductors arrive at wrong contacts"
    return f"{ends.near} {listed(finding.near)} arrive at {ends.far} {listed(finding.far)}"


# What is said of a fault that has a number; {who}, {has}: the contacts; {pair}: the pair; {n}: the number in brackets.
MEASURED = {
    "high-resistance": "{who} {has} too much resistance{n}",
    "resistance-unbalance": "the two conductors of {pair} differ in resistance{n}{by}",
    "leakage": "{who} leak into each other{n}: wet or dirty",
    "foreign-voltage": "there is voltage on {who}{n}; nothing was driven into the cable",
    "equipment-attached": "equipment is still connected to {who}",
    "too-long": "the cable is longer than specified{n}",
    "too-short": "the cable is shorter than specified{n}",
    "wet-or-wrong-cable": "length by capacitance and by echo disagree: the cable is wet, or not the kind that was told",
    "conductor-metal": "{who} has more resistance than its length explains: thin or copper-clad wire",
    "contact-film": "{who} {has} a film that current breaks through, or opened for a moment{n}",
    "intermittent": "{who} {comes_and_goes} when the cable moves",
}


def _of_the_run(finding: Finding, ends: Ends, pattern: Pattern | None) -> str:
    """Return what is said of a fault that was measured."""
    who = contacts_named(finding.near, finding.far, ends) or "the cable"
    if finding.fault == "terminators":
        return terminators_said(finding, who, (ends.near, ends.far))
    said = MEASURED[finding.fault]
    measured, one = _measured(finding), _verb(finding) == "is"
    if finding.fault == "too-long" and finding.detail == "channel":
        said = "the cable is longer than a channel may be{n}"
    if finding.fault == "wet-or-wrong-cable" and finding.detail == "fall":
        said = "every pair answers with a fall at one place: water is in the cable from there"
    if finding.fault == "leakage" and finding.unit == "V":
        own = "makes a voltage of its own" if one else "make a voltage of their own"
        said = f"{{who}} {own}{{n}}: salt water in a plug"
    if finding.fault == "leakage" and finding.unit != "V" and one and finding.near == finding.far:
        said = "{who} leaks across its break{n}: wet or dirty"
    if finding.detail == MEANWHILE:
        said = ("{who}" if finding.near else "a contact") + " came and went while the cable was measured"
    return said.format(
        who=who,
        has="has" if one else "have",
        comes_and_goes="comes and goes" if one else "come and go",
        pair=_pair_phrase(finding, pattern),
        n=f" ({measured})" if measured else "",
        by=f" by {finding.detail}" if finding.detail else "",
    )


def finding_sentence(finding: Finding, ends: Ends, pattern: Pattern | None, seen: Terminators | None = None) -> str:
    """Return one fault as a sentence a technician would say, with the place where it is known (+- at 95 %).

    seen: the terminators of a bus, where they were measured.
    """
    if finding.fault == "terminators" and seen is not None:
        return terminators_sentence(
            finding, contacts_named(finding.near, finding.far, ends), (ends.near, ends.far), seen
        )
    where = ends.at(finding.end) if finding.fault != "terminators" else ""
    if finding.at_m is not None:
        give_or_take = f" +- {2 * finding.u_m:.1f} m" if finding.u_m is not None else ""
        where = f"{where}, {finding.at_m:.1f} m{give_or_take} from {ends.near}".lstrip(", ")
    bare = _bare(finding, ends, pattern)
    sentence = f"{bare}, {where}" if where and (":" in bare or ";" in bare) else f"{bare} {where}".rstrip()
    return ("Probably: " + sentence if finding.certainty == "likely" else capital(sentence)) + "."


def _together(findings: Sequence[Finding]) -> list[Finding]:
    """Join findings of one kind and place that follow each other, so that one sentence says them; value: the worst."""
    joined: list[Finding] = []
    for finding in findings:
        before = joined[-1] if joined else None
        if before is None or _kind(finding) is None or _kind(finding) != _kind(before):
            joined.append(finding)
            continue
        worst = max(before, finding, key=lambda one: abs(one.value or 0.0))
        near = before.near + finding.near
        far = near if before.near == before.far else before.far + finding.far
        joined[-1] = replace(before, near=near, far=far, value=worst.value, limit=worst.limit)
    return joined


def _kind(finding: Finding) -> tuple[object, ...] | None:
    """Return what two findings must share to be said together; None: always said alone."""
    if finding.fault not in SAID_TOGETHER or (finding.fault == "leakage" and finding.unit != "V"):
        return None
    same = finding.near == finding.far
    if finding.fault == "open" and not same:
        return None
    return finding.fault, same, finding.end, finding.at_m, finding.certainty


def urgent_first(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings with what endangers people or equipment first, then what stops the link."""
    return sorted(findings, key=lambda finding: MOST_URGENT_FIRST.index(finding.fault))


CAUSES = {
    "straight": "The cable is straight: the second plug was made as a copy of the first.",
    "plug-turned-over": "Wired as if one plug were turned over: numbered from the wrong side.",
    "wrong-side": "Wired as if one plug was numbered from the wrong side, the mating face.",
    "shifted-by-one": "Wired as if in one plug every conductor sat one contact too far along.",
    "in-sequence": "Wired as if one plug was filled pair after pair, not as the pattern wants.",
    "solid-first": "Wired as if in one plug the solid conductor of every pair came first.",
    "half-crossed": "Wired as if one plug was half T568A and half T568B.",
    "usoc": "Wired as if one plug was filled in the telephone order (USOC).",
}


def what_is_wrong(diagnosis: Diagnosis, ends: Ends, pattern: Pattern | None) -> tuple[str, ...]:
    """Return what is to be said of the cable, most urgent first; the first sentence stands alone."""
    nearest = diagnosis.nearest
    terminators = diagnosis.terminators
    sentences = [
        finding_sentence(finding, ends, pattern, terminators) for finding in _together(urgent_first(diagnosis.findings))
    ]
    if not sentences:
        also = [terminators_line(terminators, ends.near, ends.far)] if terminators is not None else []
        if diagnosis.verdict == "pass":
            arrives = f"Every conductor arrives where {diagnosis.expect} wants it."
            return (arrives, *also)
        if diagnosis.expect is not None:
            return (f"Nothing is wrong with it as {diagnosis.expect}, as far as it was checked.",)
        if nearest is not None and nearest.away == 0:
            return (f"A sound {nearest.pattern} cable.", *also)
        return (_nearest(nearest),) if nearest is not None else ("Nothing can be said of it.",)
    if nothing_arrives(diagnosis, pattern):
        return (f"Nothing arrives at the {ends.far} end.",)
    if diagnosis.cause in CAUSES:
        return (CAUSES[diagnosis.cause],)
    if diagnosis.expect is not None and nearest is not None and nearest.away == 0:
        return (f"This is a sound {nearest.pattern} cable, but {diagnosis.expect} was asked for.",)
    if diagnosis.expect is None and nearest is not None and diagnosis.verdict == "undecided":
        return (_nearest(nearest), *sentences)
    return tuple(sentences)


def _nearest(nearest: Nearest) -> str:
    away = "1 conductor" if nearest.away == 1 else f"{nearest.away} conductors"
    return f"No known pattern; the nearest is {nearest.pattern}, {away} away."


def nothing_arrives(diagnosis: Diagnosis, pattern: Pattern | None) -> bool:
    """Whether every conductor of the pattern is open, which says more of the plug's seat than of the conductors."""
    floating = {contact for finding in diagnosis.findings if finding.fault == "open" for contact in finding.near}
    wanted = {near for near, _ in pattern.conductors} if pattern else set()
    return bool(wanted) and wanted <= floating


def missing(items: Iterable[NotChecked]) -> str:
    """Return what was not checked, in a few words: "split pairs, length"; empty when all was."""
    return ", ".join(dict.fromkeys(CHECK_WORDS[item.what] for item in items))


def missing_with_reasons(items: Sequence[NotChecked]) -> str:
    """Return what was not checked with the reasons: "screen (nothing was asked of it); length (...)"."""
    by_reason: dict[Reason, list[NotChecked]] = {}
    for item in items:
        by_reason.setdefault(item.why, []).append(item)
    return "; ".join(f"{missing(group)} ({REASON_WORDS[why]})" for why, group in by_reason.items())
