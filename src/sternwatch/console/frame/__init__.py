"""The room of a session screen's frame: bars, notices, alerts, overlays, footer, palette."""
