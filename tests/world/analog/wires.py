"""What one conductor is to direct and alternating current: copper, strands, copper over aluminium, warm or cold."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import special

from tests.world.analog.kinds import PER_K, RHO_COPPER, STRANDED
from tests.world.analog.panels import MU_0

Complex = NDArray[Any]
RHO_ALUMINIUM = 2.83e-8  # ohm m at 20 C, IEC 60889 (from memory)


@dataclass(frozen=True)
class Wire:
    """A conductor of `strands` round wires `strand_m` thick.

    core: radius of an aluminium core over the strand's, 0 = copper throughout; copper-clad wire with 10 to 15 % of its
    area copper has 0.95 to 0.92 (practice). Strands are not insulated from each other: at high frequency the conductor
    is one round wire with their area and metal, skin and core in the same proportion (assumed).
    """

    strands: int
    strand_m: float
    core: float = 0.0

    def ohm_per_m(self, temperature_c: float) -> float:
        """Return the resistance of a straight metre to direct current."""
        area = self.strands * math.pi * self.strand_m**2 / 4
        siemens = area * ((1 - self.core**2) / RHO_COPPER + self.core**2 / RHO_ALUMINIUM)
        warm = 1 + PER_K * (temperature_c - 20.0)
        return warm / siemens * (STRANDED if self.strands > 1 else 1.0)

    def ratio(self, s: Complex, temperature_c: float) -> Complex:
        """Return internal impedance over direct-current resistance at complex frequencies s [k], rad/s.

        Bessel's functions of one round metal, or of two with field and magnetic field alike where they meet (Ramo,
        Whinnery and Van Duzer, Fields and Waves, section on internal impedance; layers worked out here).
        """
        warm = 1 + PER_K * (temperature_c - 20.0)
        radius = self.strand_m / 2 * math.sqrt(self.strands)
        rho = RHO_COPPER * warm
        skin = np.sqrt(s * MU_0 / rho)
        if self.core == 0.0:
            electric, magnetic = special.iv(0, skin * radius), skin / (s * MU_0) * special.iv(1, skin * radius)
        else:
            electric, magnetic = self._over_core(s, skin, radius, RHO_ALUMINIUM * warm)
        each = electric / magnetic / (2 * math.pi * radius)
        area = math.pi * radius**2
        direct = 1 / (area * ((1 - self.core**2) / rho + self.core**2 / (RHO_ALUMINIUM * warm)))
        return np.asarray(each / direct, dtype=np.complex128)

    def _over_core(self, s: Complex, skin: Complex, radius: float, rho_core: float) -> tuple[Complex, Complex]:
        """Return electric and magnetic field at the surface of a shell over a core, to a common factor."""
        inner = np.sqrt(s * MU_0 / rho_core)
        at = self.core * radius
        electric = special.iv(0, inner * at)
        magnetic = inner / (s * MU_0) * special.iv(1, inner * at)
        # shell: E = a I0 + b K0, H = (a I1 - b K1) skin / (s mu); the determinant is 1 / (skin at)
        turned = magnetic * s * MU_0 / skin
        x = skin * at
        a = x * (electric * special.kv(1, x) + turned * special.kv(0, x))
        b = x * (electric * special.iv(1, x) - turned * special.iv(0, x))
        y = skin * radius
        outer = a * special.iv(0, y) + b * special.kv(0, y)
        return outer, skin / (s * MU_0) * (a * special.iv(1, y) - b * special.kv(1, y))
