"""The plans in ``examples/`` are what their page says of them."""
