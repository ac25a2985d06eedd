"""The virtual cable: a description (TOML) goes in, the integer tables that the fake board measures come out.

    written -> laid_out -> direct_current, fields (capacitance, echo and trace) -> tables

`written` reads the file and checks it as a whole, `laid_out` lays the cable out as spans and joints, each with the
faults active at a moment; the solvers look at that run only. `tables` is what leaves the room. Nothing here knows
wiremap: colour orders, contact numbers and matrices are written down a second time, so that each checks the other.
"""
