"""The room of the picture: what is known at one instant and what is forecast, as values and as rows of JSON."""
