"""Reports for other programs, and what a check takes and leaves out."""
