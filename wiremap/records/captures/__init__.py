"""One test kept: the record, its seal, and whether it is as it was written."""
