"""Where a reading comes from, in words: what was simulated, typed or only looked at says so wherever it is shown."""

from wiremap.judge.findings import Verdict
from wiremap.reading.reading import Origin
from wiremap.report.words.faults import VERDICT_WORDS

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
SIMULATED_NO_PROOF = "SIMULATED, NO PROOF"
COLOURS_RIGHT = "COLOURS RIGHT, NOT MEASURED"


def verdict_word(verdict: Verdict, origin: Origin) -> str:
    """Return a verdict as it is printed; a pass of what nobody measured is none."""
    return COLOURS_RIGHT if verdict == "pass" and origin == "eyes" else VERDICT_WORDS[verdict]
