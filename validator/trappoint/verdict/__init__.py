"""Whether a plan holds, and the movement by which it fails."""
