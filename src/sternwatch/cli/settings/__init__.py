"""The room of commands about the console itself: preferences and the keys of this keyboard."""
