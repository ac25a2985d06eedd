"""Which version of the program this is; a literal, since asking the installation for it costs 58 ms."""

__version__ = "0.1.0"
SOFTWARE = f"wiremap {__version__}"
