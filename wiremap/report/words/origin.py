"""Where a reading comes from, in words: what was simulated, typed or only looked at says so wherever it is shown."""

from wiremap.judge.findings import Verdict
from wiremap.reading.reading import Origin, Reading
from wiremap.report.words.faults import VERDICT_WORDS, amount

FLAGS: dict[Origin, str] = {
    "tester": "",
    "simulator": "SIMULATED",
    "table": "FROM A TABLE",
    "eyes": "SEEN, NOT MEASURED",
    "unknown": "",
}
ORIGINS: dict[Origin, str] = {
    "tester": "Measured by a tester.",
    "simulator": "Simulated: no cable was measured, and this is no proof of any.",
    "table": "From a table that was typed, or exported by something else; no tester of this program measured it.",
    "eyes": "Colours read off the plugs; nothing was measured.",
    "unknown": "It is not recorded where this reading comes from.",
}
NO_CHECK_VALUE = "this tester's line has no check value"
SIMULATED_NO_PROOF = "SIMULATED, NO PROOF"
COLOURS_RIGHT = "COLOURS RIGHT, NOT MEASURED"


def verdict_word(verdict: Verdict, origin: Origin) -> str:
    """Return a verdict as it is printed; a pass of what nobody measured is none."""
    return COLOURS_RIGHT if verdict == "pass" and origin == "eyes" else VERDICT_WORDS[verdict]


def how_read(reading: Reading, read_as: str) -> str:
    """Return how a table or a tester's text was read, or that a tester tells no ohms; "" where it tells them.

    read_as: in words, "" = not known.
    """
    if reading.heard is not None:
        how = f": {read_as}" if read_as else f", {reading.heard.alike} scans of it alike"
        return f"Read off what the tester printed{how}; {NO_CHECK_VALUE}."
    if read_as:
        return f"Table: {read_as}."
    if reading.tester is None or not reading.joined_only:
        return ""
    return (
        f"This tester tells joined from open, no ohms: below {amount(reading.tester.resolution_ohm, 'ohm')} is joined."
    )
