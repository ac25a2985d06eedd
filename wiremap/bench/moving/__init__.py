"""A test of a cable while its plugs are moved: by a watch, or by looks again and again."""
