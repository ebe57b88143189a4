"""The room of edits to a spread: a document that keeps comments, rows to edit, changes made on the water."""
