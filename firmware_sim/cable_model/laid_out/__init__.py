"""What is in the sockets at a moment. In: a Description. Out: spans and joints, with the faults that are there then."""
