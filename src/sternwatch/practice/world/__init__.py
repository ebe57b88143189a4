"""The room of the simulated world: boat, lake, sea, fish, instruments, and the true chains."""
