"""A lot on phones: wishes of thumbs come in as keys of the sweep, pages of where the lot stands go out."""
