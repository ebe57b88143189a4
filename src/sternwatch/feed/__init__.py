"""What the boat says: sources, sentences, sensors, recordings."""
