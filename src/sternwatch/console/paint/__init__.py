"""The room of paint: cells, inks, digits, lines, themes. It knows nothing of pictures."""
