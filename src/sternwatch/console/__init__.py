"""The Textual application: screens and widgets, nothing that computes."""
