"""Pages of the shift: at the mixer, on the wall, the morning after, the record."""
