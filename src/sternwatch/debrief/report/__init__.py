"""The room of the report, which is prepared once and shown as text, page, JSON and on the screen."""
