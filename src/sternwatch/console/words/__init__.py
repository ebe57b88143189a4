"""The room of words: what the screen says of rods, speed, sensors and the outlook."""
