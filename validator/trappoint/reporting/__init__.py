"""Reports: from what a check found, or from a locking table, to text."""
