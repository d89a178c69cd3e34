"""Science: NumPy arrays in and out, one mechanism or clock per file."""
