"""Resistance of a conductor from its gauge, metal and temperature."""

import math

# IEC 60028 and NBS Handbook 100: annealed copper, 1/58 ohm mm2/m at 20 C, 0.00393 per kelvin.
COPPER_OHM_MM2_PER_M = 1 / 58
COPPER_PER_K = 0.00393
# Copper-clad aluminium of 62-68 % IACS: the middle of that range; its coefficient is near aluminium's (assumption).
COPPER_CLAD_ALUMINIUM_IACS = 0.65
COPPER_CLAD_ALUMINIUM_PER_K = 0.0040


def diameter_mm(awg: float) -> float:
    """Return the diameter of a solid wire, mm (ASTM B258: 0.127 mm x 92^((36-n)/39), not rounded)."""
    return float(0.127 * 92 ** ((36 - awg) / 39))


def ohm_per_m(awg: float, metal: str = "copper", temperature_c: float = 20.0) -> float:
    """Return the d.c. resistance of a metre of solid wire, ohm, diameter not rounded."""
    area_mm2 = math.pi / 4 * diameter_mm(awg) ** 2
    at_20_c = COPPER_OHM_MM2_PER_M / area_mm2
    if metal == "copper":
        return at_20_c * (1 + COPPER_PER_K * (temperature_c - 20.0))
    return at_20_c / COPPER_CLAD_ALUMINIUM_IACS * (1 + COPPER_CLAD_ALUMINIUM_PER_K * (temperature_c - 20.0))
