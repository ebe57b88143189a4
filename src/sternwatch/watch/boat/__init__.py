"""The room of the boat: her motion, speed through the water, the current, axes, and possible manoeuvres."""
