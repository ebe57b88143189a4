"""The room of the state that follows from actions: the fold, the state of every rod, and entries in words."""
