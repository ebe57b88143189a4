"""The room of sensors: every quantity from every source, and which source counts now."""
