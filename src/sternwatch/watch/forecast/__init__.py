"""The room of the forecast: a manoeuvre run with all members, its pairs, the bottom, the limits of a turn."""
