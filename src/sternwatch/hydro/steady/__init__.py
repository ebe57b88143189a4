"""The room of the steady solver: where a chain is at one constant speed, or in a long steady turn."""
