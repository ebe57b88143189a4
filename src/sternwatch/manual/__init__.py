"""The room of the manual: pages in Markdown, for a terminal, the app and the web.

``book`` reads and searches them. ``sternwatch.console.manual_pages`` and ``sternwatch.cli.trips.manual`` make three
of the pages (commands, preferences, keys) from the program itself. This room imports nothing of the program.
"""
