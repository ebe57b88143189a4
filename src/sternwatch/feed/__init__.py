"""What the boat's instruments say: sources, sentences, sensors, recordings."""
