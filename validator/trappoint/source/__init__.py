"""From text to a ``Document``: strict reading, errors in JSON, positions, where files are."""
