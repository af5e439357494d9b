"""Learning: readings in, corrections out."""
