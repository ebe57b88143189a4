"""The room of the spread editor: the spread that is edited, and the screen that shows it."""
