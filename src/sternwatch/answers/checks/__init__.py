"""The room of the check before a spread goes out: loads, layout, strikes, findings with their cures."""
