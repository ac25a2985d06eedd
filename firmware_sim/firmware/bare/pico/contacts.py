"""The pin of a Raspberry Pi Pico that each contact's resistor leads to: near 1-8 and S, then far 1-8 and S."""

PINS = (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17)
