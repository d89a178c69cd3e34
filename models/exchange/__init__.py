"""Formats: rows in, bytes out, and back; nothing here knows a database or the web."""
