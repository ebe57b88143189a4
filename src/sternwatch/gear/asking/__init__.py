"""The room of questions: an interview as a plain function, and the questions that make a boat, a rig, a line."""
