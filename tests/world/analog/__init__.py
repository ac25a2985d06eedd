"""A world of cables as metal and plastic, whose physics shares nothing with the product's nor with its simulator's.

    from tests.world.analog import draw, measure
    rng = np.random.default_rng(7)
    cable = draw("cat5e-uutp-24", 20.0, rng, splits=[Split(3.0, 8.0, ("3", "5"))])
    reading = measure(cable, rng, far="tester", trace=True)   # a wiremap Reading; the truth stands in `cable`

`kinds()` names what can be drawn; `draw` says which faults; `reel` draws a make of which several cables may be cut
(`draw(..., of=...)`); `line(cable, "1", "2")` is the truth of a pair: pF/m, speed over light's, ohm; `instrument` draws
a tester that measures several (`measure(..., by=...)`).

The way: kinds.toml (geometry, each number with where it comes from) -> panels, sections (a field solution, averaged
over the pairs' turns) -> matrices.json -> makes (tolerances, plugs, faults) -> network (capacitances, ohms), traces (a
line of many modes) -> bench (a tester's errors, the Reading).

Where numbers come from: gauges and copper ASTM B258 and IEC 60028; insulation, lays and fill common practice or
assumed, chosen so that impedance, speed and resistance come out as such cable is sold; spreads of makes, plugs (1.2 pF
between neighbours, 35 % scatter), contacts and the tester's errors assumed, each where it stands. Nothing was measured
on a cable.

What it leaves out: how thick a foil is; loss in sheaths; roughness of impedance finer than a metre; coupling of one
twist with another; inductance of plugs; leakage and conductors that touch; plugs other than the eight contacts and
screen of an RJ45 (four wires lie on 1, 2, 3 and 6); dielectrics that change with temperature, or much with frequency.
"""

from tests.world.analog.bench import Instrument, instrument, measure
from tests.world.analog.cable import Break, Cable, Split, Wet
from tests.world.analog.kinds import Kind, kinds
from tests.world.analog.makes import Reel, draw, line, mode, reel

__all__ = [
    "Break",
    "Cable",
    "Instrument",
    "Kind",
    "Reel",
    "Split",
    "Wet",
    "draw",
    "instrument",
    "kinds",
    "line",
    "measure",
    "mode",
    "reel",
]
