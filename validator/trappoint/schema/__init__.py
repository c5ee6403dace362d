"""The schema, compiled, and what is said where a document does not follow it."""
