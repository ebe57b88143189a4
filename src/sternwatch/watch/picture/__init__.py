"""The room of the picture: what is known and forecast at one instant, as values and as rows of JSON."""
