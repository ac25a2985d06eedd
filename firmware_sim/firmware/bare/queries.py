"""What the bare board measures: each query takes its parameters as texts and returns the fields of its answer."""

import look
import pins
import safety
import scan
import selftest

MODEL = "BARE-18"
FEATURES = ("CONT", "FOREIGN")


def forget() -> None:
    """Trust nothing seen so far: nothing is kept from one measurement to the next."""


def busy() -> bool:
    """Return whether something goes on between messages: a turn of all contacts takes too long for a watch."""
    return False


def go_on() -> None:
    """Nothing goes on."""


def resolution(_given: "list[str]") -> "list[str]":
    """Say up to where two contacts are surely called joined, milliohm."""
    return ["%d" % scan.MILLIOHM]


def continuity(_given: "list[str]") -> "list[str]":
    """Say of every two contacts whether they are joined."""
    look.refuse_if_any()
    selftest.weigh()
    found = scan.triangle()
    look.refuse_if_any()
    safety.bring_down()
    return ["%d" % pins.CONTACTS] + ["%d" % one for one in found]


def voltage(_given: "list[str]") -> "list[str]":
    """Look at the voltages that are there; drive nothing high."""
    return look.fields(look.voltages())


# Each query: what parameters it has beside the tag, least and most, and whether it drives.
COMMANDS = (
    ("TESTer:RESolution?", resolution, 0, 0, False),
    ("MEASure:ARRay:CONTinuity?", continuity, 0, 0, True),
    ("MEASure:VOLTage?", voltage, 0, 0, True),
)
