"""The room of a depth-temperature logger: reads its file, fits its clock, compares, thins it to observations."""
