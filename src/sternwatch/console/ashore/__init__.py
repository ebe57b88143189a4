"""The room of screens off the water: start, set-up, questions, preferences, the key test."""
