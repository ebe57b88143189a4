"""The room of acts: what each key does, by subject. `table` maps an act to its function."""
