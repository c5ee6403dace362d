"""The commands, one module each, imported only when it is called."""
