"""Resistances and foreign voltages. In: a cable laid out. Out: what lies between the tester's contacts."""
