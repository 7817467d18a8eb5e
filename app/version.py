"""The version, in one place; packaging, the about box and every page read it here."""

__version__ = "0.1.0"
