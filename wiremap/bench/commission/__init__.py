"""The first measurements of a board just soldered: from its list of steps to a record of what was found, pure but for
`probes`, which asks the tester."""
