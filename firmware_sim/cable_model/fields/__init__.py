"""Capacitances, echoes and traces. In: a cable laid out. Out: picofarads, and what a step sends back over time."""
