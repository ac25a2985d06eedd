"""The fonts in a PDF: without the tables that only who sets text asks for, since the page says where each letter is."""

from collections.abc import Iterator
from contextlib import contextmanager

LAYOUT = ["GDEF", "GPOS", "GSUB", "kern"]  # OpenType: which letters take other forms, and which stand nearer


@contextmanager
def without_layout() -> Iterator[None]:
    """Within, fonts are embedded without these tables: to cut them to the letters in use took most of embedding.

    Matplotlib has no setting for it, and asks fontTools for all that this leaves out by itself.
    """
    from fontTools.subset import Options

    left_out = getattr(Options, "_drop_tables_default", [])
    Options._drop_tables_default = [*left_out, *LAYOUT]
    try:
        yield
    finally:
        Options._drop_tables_default = left_out
