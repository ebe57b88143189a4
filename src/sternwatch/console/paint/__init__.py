"""The room of paint: cells, inks, digits, lines, themes. Knows no picture."""
