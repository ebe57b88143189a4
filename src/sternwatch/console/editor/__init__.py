"""The room of the spread editor: the bench that edits, and the screen that shows it."""
