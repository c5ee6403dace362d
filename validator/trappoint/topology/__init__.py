"""Places, moves, lines and which end is up."""
