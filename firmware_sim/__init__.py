"""The tester in software: firmware, board and cable.

    cables/, or a file  ->  cable_model/  ->  tables (JSON)  ->  board/  <-  firmware/  <->  line/  <->  host

`launcher` starts it all: it reads the cable, starts the firmware on its board in a process of its own, and opens the
line. Cable model and board meet in the tables alone, and in the levels of a live far end; the firmware is what is
flashed, and knows neither. `nano/` has no module: it is a bare tester's program in C, run by tests in a simulated chip.

    hardware                    the boards that can be built: netlists, and all that follows from them
    board/levels                how the board strays, and what stands at a live far end
    cable_model/arrays          the kinds of array that the room computes with
    cable_model/written         what a cable's file says, checked and complete: a Description
    cable_model/laid_out        what is in the sockets at a moment: spans and joints, with the faults that are there
    cable_model/direct_current  resistances between contacts, and voltages from outside
    cable_model/fields          capacitances, echoes and traces
    cable_model/tables          all of it as integers, ready for JSON
    board line                  what the firmware sees at its pins; the line, and what happens to bytes on it
    firmware                    flat, as it is on the board, where a module is imported by its bare name
    launcher                    starts it all
"""
