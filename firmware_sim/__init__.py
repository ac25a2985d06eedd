"""The tester in software: firmware, board and cable.

    cables/, or a file  ->  cable_model/  ->  tables (JSON)  ->  board/  <-  firmware/  <->  line/  <->  host

`launcher` starts it all: it reads the cable, starts the firmware on its board in a process of its own, and opens the
line. Cable model and board meet in the tables alone; the firmware is what is flashed, and knows neither.
"""
