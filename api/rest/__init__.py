"""REST: one file per noun, with its shapes."""
