"""Designs, proves and keeps master key systems for a working locksmith."""

__version__ = "0.1.0"
