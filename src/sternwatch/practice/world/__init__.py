"""The room of the simulated world: boat, lake, sea, fish, instruments, and true chains."""
