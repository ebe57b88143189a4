"""The manual aboard: pages in Markdown, to be read in a terminal, inside the app and on the web.

``book`` reads and searches them. Three of the pages (commands, preferences, keys) are made from the program itself by
``sternwatch.console.manual_pages`` and ``sternwatch.cli.trips.manual``. This room imports nothing of the program.
"""
