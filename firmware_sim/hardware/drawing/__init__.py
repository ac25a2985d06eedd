"""The boards drawn so that one can solder from them: sheets as SVG.

`sheet` has the symbols, `bench_sheets` and `bare_sheets` say where each stands. Names, values, numbers of pins and what
a chip's pins are soldered to come from the netlist; wires between symbols are drawn by hand, and tests read them back.
"""
