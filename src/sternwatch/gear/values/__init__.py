"""The room of single values: units, materials, default coefficients, and the sentence for a fault in a file."""
