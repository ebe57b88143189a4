"""The room of the season: the calibration carried on from trip to trip, and its history."""
