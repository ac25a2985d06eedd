"""From the line to a Reading. In: an address. Out: what the tester measured, unjudged."""
