"""Amounts as they are typed off a meter -> numbers in a figure's unit; strict: a slip must not become a reading."""

import math
import re

from wiremap.errors import UsageError
from wiremap.records.commissions import Amount

METER_OPEN = ("open", "ol", "o.l", "inf")  # what meters show beyond their range
AMOUNT = re.compile(r"([+-]?\d+(?:[.,]\d+)?)\s*([a-zA-Zµ°]*)", re.ASCII)
SCALES = {
    "ohm": {"": 1.0, "ohm": 1.0, "r": 1.0, "k": 1e3, "kohm": 1e3, "M": 1e6, "Mohm": 1e6, "mohm": 1e-3},
    "V": {"": 1.0, "V": 1.0, "mV": 1e-3},
    "mV": {"": 1.0, "mV": 1.0, "V": 1e3},
    "C": {"": 1.0, "C": 1.0},
}
LARGEST_AMOUNT = 1e12


def amount_typed(text: str, unit: str) -> Amount:
    """Return what was typed, in a unit; UsageError where it is no number, or its unit is another.

    A decimal comma is read where three digits after it cannot mean thousands; "open" and "OL" only of ohms.
    """
    plain = text.strip()
    if unit == "ohm" and plain.lower() in METER_OPEN:
        return "open"
    match = AMOUNT.fullmatch(plain)
    scales = SCALES.get(unit, {"": 1.0})
    if match is None:
        raise UsageError(f"'{plain}' is no number", "Type it as 3.33 or 3.33k" + _open(unit) + ".")
    digits, named = match[1], match[2]
    if re.search(r",\d{3}$", digits):
        raise UsageError(f"'{digits}' can mean two numbers", f"Type {digits.replace(',', '.')} with a point, or whole.")
    if named not in scales:
        allowed = ", ".join(name for name in scales if name)
        raise UsageError(f"'{named}' is no unit of this", f"It is in {unit}: " + (allowed or "type the number alone"))
    amount = float(digits.replace(",", ".")) * scales[named]
    if not math.isfinite(amount) or abs(amount) > LARGEST_AMOUNT:
        raise UsageError(f"'{plain}' is too large", "Look at the meter's range.")
    return amount


def _open(unit: str) -> str:
    return ", or OL" if unit == "ohm" else ""
