"""The room of the check before a spread goes out: loads, layout, strikes, and findings with their cures."""
