"""The typed, immutable layout, and the table of references between its things."""
