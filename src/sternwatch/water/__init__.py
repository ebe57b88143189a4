"""Fresh water, temperature with depth, and the zones of temperature that fish are wanted in."""
