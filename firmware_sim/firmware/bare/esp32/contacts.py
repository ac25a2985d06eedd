"""The pin of an ESP32 that each contact's resistor leads to: near 1-8 and S, then far 1-8 and S.

Left out are the pins of the line (1, 3), of the memory (6 to 11), 0 and 12, which a contact that is pulled would let
start wrongly, and 34 to 39, which only read. Modules with further memory use 16 and 17 (all from memory).
"""

PINS = (4, 5, 13, 14, 16, 17, 18, 19, 2, 21, 22, 23, 25, 26, 27, 32, 33, 15)
