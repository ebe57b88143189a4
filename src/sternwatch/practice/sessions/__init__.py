"""The room of practice sessions: on the screen, without one, served to others, and their results."""
