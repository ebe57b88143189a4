"""The room of words: the screen's words for rods, speed, sensors and the outlook."""
