"""What the crew did: actions, what they amount to, and the file that keeps them."""
