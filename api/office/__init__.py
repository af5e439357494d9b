"""Pages of the office: set-up, doughs, mix lists, conditions, plans."""
