"""The room of what the watch remembers: moments, hits, fishing time, observations. Import `memory.Memory`."""
