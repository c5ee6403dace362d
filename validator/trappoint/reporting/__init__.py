"""Each output format, rendered as text by one module; nothing here prints."""
