"""From capacitances, echoes and resistances to the run between the plugs: pairs, length, where it is broken."""
