"""The commands, one module each, imported only where their command is asked for."""
