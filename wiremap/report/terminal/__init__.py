"""Pages for a terminal. In: a judged cable, a lot. Out: text."""
