"""The room of keys: the registry of acts, the keymap, locks, accidents, the key test."""
