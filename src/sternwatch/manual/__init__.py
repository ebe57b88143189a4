"""The room of the manual: pages in Markdown, for a terminal, the app and the web.

``book`` reads and searches them. ``sternwatch.console.words.manual`` makes three of the pages (keys, glossary,
preferences) from the program itself; the page of commands is a file that a test writes and holds against the parser.
This room imports nothing of the program.
"""
