"""The room of edits to a spread: the file as a document with its comments, its rows, and changes on the water."""
