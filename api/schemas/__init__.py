"""Schemas: what goes in and out of the API, apart from the core's values."""
