"""The room of what a season has taught: the calibration carried on from trip to trip, and its history."""
