"""How the tables came to be: one dated change per file, up and down."""
