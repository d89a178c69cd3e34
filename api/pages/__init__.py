"""Pages: one file per noun, HTML and forms."""
