"""Readers of day files and order lists."""
