"""What boards share whose contacts are all driven and read at once.

    solving     steady voltages of a resistor network, and how a network of capacitors settles

Runs on CPython and on the MicroPython VM alike. Volts, microamperes, microsiemens, picofarads and microseconds
belong together: pF / uS = us, and uS x V = uA.
"""
