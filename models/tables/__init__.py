"""Records: one file per noun, the table and the ways to find a row."""
