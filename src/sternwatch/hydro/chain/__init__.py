"""The room of one chain as numbers: its rows for the kernels, the forces on it, and their coefficients."""
