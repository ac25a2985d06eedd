"""Commands about the tester itself, a file each: from options to what it is, knows and may be trusted with."""
