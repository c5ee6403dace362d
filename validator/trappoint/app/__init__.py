"""What commands, hooks and the editor share: finding files, batches, baselines, streams."""
