"""The reference board's parts that a contact can feel, and what its own parts measure with.

Ohms, femtofarads, millivolts. The signature of every state of the board follows from these numbers alone.
"""

SUPPLY_MV = 3300
MIDDLE_MV = 1650

# Force path of a contact, both sides: resettable fuse, series resistor, then a multiplexer.
FUSE_OHM = 10
SERIES_OHM = 47
MULTIPLEXER_OHM = 100
PATH_OHM = FUSE_OHM + SERIES_OHM + MULTIPLEXER_OHM
CLAMP_MV = 5000  # to ground, behind fuse and series resistor
DIODE_MV = 600

# Sense path of a contact, both sides; a bus hangs on the middle of the supply while the voltmeter is chosen. Two
# contacts of one pair, one on each bus, are in parallel: 47 kohm would there look like a powered device.
SENSE_OHM = 100_000
DIVIDER_OHM = 2_700
COMPARATOR_OHM = 1_000_000  # each force bus to the middle of the supply, at the comparator

# What feeds the high bus: nothing, the source itself, 10 kohm, 100 kohm.
DRIVER_OHM = 10
FEED_OHM = (None, DRIVER_OHM, 10_000, 100_000)
SHUNT_OHM = 100  # in the low bus's return, except while the voltmeter is chosen: then it is open
LOW_LEVEL_OHM = 56  # from the high bus to ground, behind 10 kohm
TIE_OHM = 1_000  # a contact to ground, each through its own switch
ECHO_OHM = 50  # each side of the echo stage, balanced to ground, joined to one near pair on request
RAIL_BLEED_OHM = 1_000  # across the supply, so that a dead board is a short to a source that asks

# The inputs of the multiplexers that lead to no socket.
LINK_ADDRESS = 30
KNOWN_ADDRESS = 29
KNOWN_OHM = 1_000

CONTACT_FF = 10_000  # a contact's own capacitance to the board's ground: clamp, multiplexers, socket
BUS_FF = 120_000  # of one force bus
CYCLE_PS = 8_000  # of the chip's clock, 125 MHz
DELAY_STEP_PS = 16  # of the step, for each count of the delay converter
THRESHOLD_US = 30  # time constant of the filter behind the threshold's pulse width
LINE_OHM = 102  # a pair at the first moment, where the tables give no sampled reflection


def contact_at(address: int) -> int:
    """Return the contact (from 0) at a multiplexer address, -1 for none."""
    if address < 9:
        return address
    if 16 <= address < 25:
        return address - 7
    return -1
