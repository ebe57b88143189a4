"""The room of the spread plan: settings and lengths proposed, tried, checked, and the order to let out."""
