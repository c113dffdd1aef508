"""Benchwalk: walks a percussion repair technician through a repair, one step at a time, and keeps the record."""

__version__ = "0.1.0"
