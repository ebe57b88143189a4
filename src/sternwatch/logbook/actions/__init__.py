"""The room of the kinds of actions: one model each. Import `kinds`."""
