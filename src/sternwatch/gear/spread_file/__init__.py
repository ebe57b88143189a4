"""The room of the spread file: models, rules, what is uncertain. Import `load`, `models`, `uncertain`."""
