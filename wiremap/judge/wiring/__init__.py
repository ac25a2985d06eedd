"""From a reading and a pattern to what is joined, what should be, and the faults that continuity and ohms show."""
