"""The room of single values: units, materials, default coefficients, and one sentence for a fault in a file."""
