"""Every sentence of records, pictures, sheets and labels, once: what was recorded, and what it does not prove."""

FACE = "contacts up, cable towards you"
IN_ORDER = "contacts in number order"
NOTHING_HERE = "-"
MARK = "✕"

CLAIM = (
    "A shop test with a tester made on the bench. It says what was checked on the day, within the limits kept in the "
    "record; it does not replace a field test to a cabling standard, nor a licensed practitioner."
)
SEAL_CLAIM = (
    "The digest shows whether a byte of the record was changed. A signature shows who kept the key. Neither shows "
    "that the tester was honest."
)
WORK_CLAIM = "The technician's word, not measured."
CAUTIONS = (
    "Power off and both ends unplugged before this cable is tested, cut or crimped: Power over Ethernet is up to "
    "57 V d.c., and passive injectors do not ask first. Antennas that transmit: off and locked out before anyone works "
    "in front of or above them. Local codes and licensed practice come first."
)
