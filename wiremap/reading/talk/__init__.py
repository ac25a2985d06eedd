"""Text that a tester prints in a language of its own, read by a description of it or by the names it gives."""
