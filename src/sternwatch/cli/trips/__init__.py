"""The room of commands about trips: debrief, season, trip, logbook, paths."""
