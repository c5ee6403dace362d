"""From text to a document: reading, what is wrong with JSON, positions, where files are."""
