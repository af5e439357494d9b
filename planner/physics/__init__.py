"""Physics of dough: heat, fermentation, cooling. One equation, one function."""
