"""The room of the boat: her motion, speed through the water, current, axes, and the manoeuvres she may make."""
