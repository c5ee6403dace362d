"""The locking of the lever frame, and a frame to work it on."""
