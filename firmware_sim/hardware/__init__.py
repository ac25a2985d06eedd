"""The boards that can be built: each a netlist in Python, and what follows from it.

    kinds  ->  bench, bare  ->  rules, values, parts list, wiring, drawing, file for board editors, circuit decks

`bench` and `bare` are the only places of a part: its value, its package, its price, and what each of its pins is
soldered to. Nothing else here knows a value. Nobody has built either board.
"""
