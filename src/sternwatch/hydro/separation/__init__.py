"""The room of distances between chains: segments, pairs, and the nearest of two whole chains."""
