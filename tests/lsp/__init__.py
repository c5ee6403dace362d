"""The editor's companion: the answers, and the protocol over which they are asked for."""
