"""The only package that knows the solver."""
