"""The room of a depth-temperature logger's file: read, set to the trip's clock, compared, thinned to observations."""
