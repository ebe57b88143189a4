"""The room of commands that open a session: watch, replay, practice, demo, ports, start."""
