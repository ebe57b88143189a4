"""The room of questions: how an interview runs, and the questions about a boat, a rig and a line."""
