"""From a reading and a pattern to what is joined, what should be, and the faults that continuity and ohms show.

Reading, Pattern -> layout (one order of contacts) -> laid_reading (ohms, cells, nets) -> continuity, electrical,
terminators -> examined. With the far plug in no tester: laid_reading -> far_end, remote. The laid reading goes on to
run/, remedy/ and the rows of the wire map; none of them orders contacts again.
"""
