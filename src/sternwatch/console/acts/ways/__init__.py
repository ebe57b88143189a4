"""Acts that bring lures to a place, or keep them over one: again, and a whole pass."""
