"""Fresh water, temperature with depth, and the temperature zones of fish."""
