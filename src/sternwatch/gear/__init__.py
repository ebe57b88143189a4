"""What hangs over the stern: units, the spread file, edits, the shelf, questions."""
