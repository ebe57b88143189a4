"""The room of acts: what each key does, by subject. `table` leads from an act to its function."""
