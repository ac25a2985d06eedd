"""The board in software. In: what the firmware does with its pins, and a cable's tables. Out: what it would see.

    parts, levels, noise, clock, cable     values, time and the cable in the sockets
    switchboard                            how pins and switches stand
    circuit, comparator                    what the converters and the comparator see then
    board, bus_parts                       all of it together, and what answers on the I2C bus
    pio_words, pio                         the chip's programmable I/O
    power, path/                           switched on: machine, rp2 and time, as the firmware imports them
    cpython                                starts the firmware where there is no MicroPython VM

Runs on CPython and on the MicroPython VM alike.
"""
