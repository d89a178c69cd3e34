"""The trade: knows nothing of the web."""
