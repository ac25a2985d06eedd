"""From what was asked on the command line to a cable that is judged; shared by the commands that judge."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast, get_args

from wiremap.cable.colours import colour_set
from wiremap.cable.limits import Limits, limits
from wiremap.cable.patterns import SCREEN_RULES, Pattern, ScreenRule, pattern
from wiremap.cable.terminations import termination, usual_termination
from wiremap.errors import UsageError
from wiremap.judge.nets import nets
from wiremap.judge.verdict import Options, judge, to_builtins
from wiremap.reading import Reading
from wiremap.report.page import Tested
from wiremap.report.wording import CHECKS, Ends


@dataclass(frozen=True, slots=True)
class Asked:
    """What the user wants of a cable: pattern, screen, required checks, and how to speak of it."""

    expect: Pattern | None = None
    screen: ScreenRule | None = None
    require: tuple[str, ...] = ()
    near_order: str | None = None
    colours: str | None = None


def asked(
    expect: str | None,
    screen: str | None,
    require: Sequence[str] | None,
    near_order: str | None = None,
    colours: str | None = None,
) -> Asked:
    """Return what was asked, checked before anything is measured; UsageError or FileError when it cannot be."""
    if screen is not None and screen not in SCREEN_RULES:
        raise UsageError(f"--screen {screen}: not known", "Give one of " + ", ".join(SCREEN_RULES) + ".")
    checks = tuple(dict.fromkeys(word for words in require or () for word in words.split(",") if word))
    for check in checks:
        if check not in CHECKS:
            raise UsageError(f"--require {check}: no such check", "Give some of " + ", ".join(CHECKS) + ".")
    if near_order is not None:
        termination(near_order)
    if colours is not None:
        colour_set(colours)
    return Asked(pattern(expect) if expect else None, cast(ScreenRule | None, screen), checks, near_order, colours)
