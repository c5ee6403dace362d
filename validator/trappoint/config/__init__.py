"""What a club sets for itself."""
