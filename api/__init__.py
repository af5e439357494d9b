"""Ovenward's service: files, commands, REST, pages."""
