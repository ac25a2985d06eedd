"""Finds what is wrong with a networked cable, says which end to re-terminate, keeps the proof.

cable         what a cable is before any measurement: colours, connectors, terminations, patterns, limits
calibration   what is known of a tester
reading       what a tester saw, unjudged
tester        from the line to a Reading
judge         from a Reading to what is wrong and how to put it right
records       what is kept, and how it is checked
report        what people read
bench         loops around the tester
library       reading -> diagnosis -> advice, for programs
cli           the commands

For programs: `read`, `measure` or `plugs_seen` give a Reading, `diagnose` a Diagnosis of it, `advise` what follows.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from wiremap.version import __version__

if TYPE_CHECKING:
    from wiremap.cable.patterns import Pattern, pattern
    from wiremap.errors import FileError, TesterError, UsageError, WiremapError
    from wiremap.judge.remedy.advice import Advice
    from wiremap.judge.remedy.knowledge import Statements
    from wiremap.judge.verdict import Diagnosis, Options
    from wiremap.library import advise, diagnose, plugs_seen, read
    from wiremap.reading.reading import Reading
    from wiremap.records.captures.files import load
    from wiremap.tester.measure import measure, open_tester

__all__ = (
    "Advice",
    "Diagnosis",
    "FileError",
    "Options",
    "Pattern",
    "Reading",
    "Statements",
    "TesterError",
    "UsageError",
    "WiremapError",
    "__version__",
    "advise",
    "diagnose",
    "load",
    "measure",
    "open_tester",
    "pattern",
    "plugs_seen",
    "read",
)
_FROM = {
    "wiremap.cable.patterns": ("Pattern", "pattern"),
    "wiremap.errors": ("FileError", "TesterError", "UsageError", "WiremapError"),
    "wiremap.judge.verdict": ("Diagnosis", "Options"),
    "wiremap.judge.remedy.advice": ("Advice",),
    "wiremap.judge.remedy.knowledge": ("Statements",),
    "wiremap.library": ("advise", "diagnose", "plugs_seen", "read"),
    "wiremap.reading.reading": ("Reading",),
    "wiremap.records.captures.files": ("load",),
    "wiremap.tester.measure": ("measure", "open_tester"),
}


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used, so that importing the package costs nothing."""
    for module, names in _FROM.items():
        if name in names:
            return getattr(import_module(module), name)
    raise AttributeError(f"module 'wiremap' has no attribute '{name}'")
