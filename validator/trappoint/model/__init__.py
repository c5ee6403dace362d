"""The plan, typed and frozen, and the one table of its kinds and references."""
