"""How fast it is, beside other ways: ``cd tests && python -m bench`` prints the whole table."""
