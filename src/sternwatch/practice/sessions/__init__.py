"""The room of practice sessions: on the screen, without a screen, served to other programs, and their results."""
