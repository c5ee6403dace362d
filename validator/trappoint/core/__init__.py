"""What every room uses: findings, spelling, quoting, files of the package, the terminal."""
