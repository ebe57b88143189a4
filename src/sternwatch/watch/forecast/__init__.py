"""The room of one forecast: a manoeuvre run with all members, its pairs, the bottom, the limits of a turn."""
