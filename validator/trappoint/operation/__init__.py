"""Running trains: roads, what the signalman does for them, sessions."""
