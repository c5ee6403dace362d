"""Check a document against its schema, and explain where it breaks the schema."""
