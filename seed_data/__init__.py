"""Reference data that every installation gets."""
