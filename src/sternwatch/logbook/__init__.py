"""What the crew did: the actions, the state that follows from them, and the file that keeps them."""
