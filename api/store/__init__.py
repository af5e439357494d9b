"""The store: tables, the engine, and one set of functions per resource."""
