"""Code shared by commands, hooks and the editor: finding files, batches, baselines, streams."""
