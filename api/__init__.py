"""The web: knows HTTP, decides nothing."""
