"""Decisions: plain values in, plain values out, one question per file."""
