"""Scheduling: problem (data), search, schedule (data), and its independent check."""
