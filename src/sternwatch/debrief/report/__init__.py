"""The room of the report: prepared once, shown as text, page, JSON and on the screen."""
