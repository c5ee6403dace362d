"""The check: it calls every step from the text to the verdict, and returns a ``Report``."""
