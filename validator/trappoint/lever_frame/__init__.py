"""The locking of the lever frame, and a simulator of the frame."""
