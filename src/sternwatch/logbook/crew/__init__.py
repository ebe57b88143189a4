"""The room of what actions amount to: the fold, the state of every rod, and entries in words."""
