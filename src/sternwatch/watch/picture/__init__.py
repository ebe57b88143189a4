"""The room of the picture: everything known at one instant, as values and as rows of JSON."""
