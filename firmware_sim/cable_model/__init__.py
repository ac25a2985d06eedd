"""The virtual cable: a description (TOML) goes in, the integer tables that the fake board measures come out.

    description -> run -> networks (d.c.), capacitance, lines (echo and trace) -> tables

`cable_file` is the form of the file, `description` checks it as a whole, `run` lays the cable out as spans and joints,
each with the faults active at a moment; the three solvers look at that run only. `tables` is what leaves the room.
Nothing here knows wiremap: colour orders, contact numbers and matrices are written down a second time, so that each
checks the other.
"""
