"""Routes: one file per resource; each parses, calls and returns."""
