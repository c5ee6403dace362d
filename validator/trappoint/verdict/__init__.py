"""Does a plan hold: the test, and the movement by which it fails."""
