"""The room of the spread editor: the spread being edited, and its screen."""
