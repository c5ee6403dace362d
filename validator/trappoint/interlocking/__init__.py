"""Routes, arms, conflicts, distants, duties, and the locking table."""
