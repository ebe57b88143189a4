"""The room of drill files: their models, the shipped drills, and faults of instruments."""
