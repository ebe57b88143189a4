"""The room of the steady solver: where a chain lies at one speed, or in a turn held for minutes."""
