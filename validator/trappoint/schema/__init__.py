"""The schema, compiled to closures, and the messages for a document that breaks it."""
