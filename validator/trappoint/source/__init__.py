"""Read and write files: strict JSON, its errors, line and column positions, git."""
