"""headrace: water runs in, tank pressures out."""

__version__ = "0.1.0"
