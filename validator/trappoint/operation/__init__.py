"""Running trains: roads, the signalman's work for them, sessions."""
