"""The room of the watch's memory: moments, hits, fishing time, observations. Import `memory.Memory`."""
