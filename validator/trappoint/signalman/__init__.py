"""What the signalman does: points, arms and levers, in their order, for a train that is to run."""
