"""Code that all other packages use: findings, spelling, quoting, data files, the terminal."""
