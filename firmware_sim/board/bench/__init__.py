"""The bench board in software. In: what the firmware does with pins, ports and converters. Out: what it would see.

    values      the parts of one board, each drawn within its tolerance
    solving     steady voltages of a resistor network, and how a network of capacitors settles
    wiring      how the board stands, what the cable is then, how both settle
    nodes       contacts, commons and the cable between them: their voltages at any moment
    chips       ports, 16-bit converter and the chip's own converter, as their data sheets have them
    board       all of it behind the chip's pins

Runs on CPython and on the MicroPython VM alike. Volts, microamperes, microsiemens, picofarads and microseconds
belong together: pF / uS = us, and uS x V = uA.
"""
