"""The board in software. In: what the firmware does with its pins, and a cable's tables. Out: what it would see.

Runs on CPython and on the MicroPython VM alike; `path/` holds what stands in for machine, rp2 and time there.
"""
