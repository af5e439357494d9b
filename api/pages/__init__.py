"""Pages: a finished plan as table, bench sheet and drawing. They format; they compute nothing."""
