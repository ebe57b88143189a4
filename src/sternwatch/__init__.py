"""sternwatch computes where every lure of a trolling spread is, and what the next turn does to all of them."""

__version__ = "0.1.0"
